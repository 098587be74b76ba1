"""Photos: reading the codes on one, and showing a stored one to those who may see it."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from inventory import photos
from inventory.access import needs, person_of, photo_read
from inventory.forms import PhotoForm
from inventory.models import Role
from inventory.pictures.reading import Answer


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def photo(request: HttpRequest) -> HttpResponse:
    """Read every code on an uploaded photo and say which of them are known here."""
    form = PhotoForm(request.POST or None, request.FILES or None)
    answer = Answer()
    if request.method == "POST" and form.is_valid():
        answer = photos.read(form.cleaned_data["photo"], settings.PHOTO_MAX_BYTES)
        if answer.refused is not None:
            form.add_error("photo", f"Photo: {answer.refused.message}")
    context = {"form": form, "answer": answer, "read": form.is_bound and form.is_valid()}
    return render(request, "inventory/photo.html", context)


@require_safe
def photo_file(request: HttpRequest, sha256: str) -> HttpResponse:
    """Show a stored photo: the taker's own, of a job one works on, any at the desk."""
    stored = photo_read(person_of(request), sha256)
    try:
        return HttpResponse(photos.bytes_of(stored), content_type="image/jpeg")
    except FileNotFoundError as gone:
        raise Http404 from gone
