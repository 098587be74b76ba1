"""Photos: reading the codes on one, holding one of many labels against what should be there, and
showing a stored one to those who may see it."""

from contextlib import AbstractContextManager

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods, require_safe

from inventory import photographed, photos, reading_progress
from inventory.access import delivery_read, needs, person_of, photo_read
from inventory.forms import PhotoForm, ShelfPhotoForm
from inventory.models import Role
from inventory.once import KEY
from inventory.photographed import Held, Wanted
from inventory.pictures.errors import PhotoRefused
from inventory.pictures.reading import Answer, Tell


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def photo(request: HttpRequest) -> HttpResponse:
    """Read every code on an uploaded photo and say which of them are known here."""
    form = PhotoForm(request.POST or None, request.FILES or None)
    answer = Answer()
    if request.method == "POST" and form.is_valid():
        with _progress(request) as tell:
            answer = photos.read(form.cleaned_data["photo"], settings.PHOTO_MAX_BYTES, tell=tell)
        if answer.refused is not None:
            form.add_error("photo", f"Photo: {answer.refused.message}")
    context = {"form": form, "answer": answer, "read": form.is_bound and form.is_valid()}
    return render(request, "inventory/photo.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def delivery_photo(request: HttpRequest, code: str) -> HttpResponse:
    """Hold a photo of a pallet against the supplier's serial file of a delivery."""
    delivery = delivery_read(person_of(request), code)
    wanted = photographed.of_delivery(delivery)
    form = PhotoForm(request.POST or None, request.FILES or None)
    listed = delivery.listed.exists()
    taken = listed and form.is_valid()
    held = _held(request, form, wanted, delivery.subject) if taken else None
    context = {"form": form, "held": held, "wanted": wanted, "delivery": delivery, "listed": listed}
    return render(request, "inventory/delivery_photo.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def shelf_photo(request: HttpRequest) -> HttpResponse:
    """Hold a photo of a shelf against what the book has there."""
    at = ShelfPhotoForm.place_at(request.POST.get("at") or request.GET.get("at", ""))
    wanted = photographed.at_place(at) if at else []
    initial = {"at": at.code if at else ""}
    form = ShelfPhotoForm(request.POST or None, request.FILES or None, initial=initial)
    held = _held(request, form, wanted) if form.is_valid() else None
    context = {"form": form, "held": held, "wanted": wanted, "at": at}
    return render(request, "inventory/shelf_photo.html", context)


def _held(
    request: HttpRequest, form: PhotoForm, wanted: list[Wanted], subject: str = ""
) -> Held | None:
    """What the photo shows; None with the reason in the form where it is not taken."""
    upload, most = form.cleaned_data["photo"], settings.PHOTO_MAX_BYTES
    try:
        with _progress(request) as tell:
            return photographed.read(person_of(request), upload, most, wanted, subject, tell)
    except PhotoRefused as refusal:
        form.add_error("photo", f"Photo: {refusal.message}")
        return None


def _progress(request: HttpRequest) -> AbstractContextManager[Tell]:
    return reading_progress.told(person_of(request), request.POST.get(KEY, ""))


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def photo_progress(request: HttpRequest) -> JsonResponse:
    """Say how far the reading of one's own photo is, by the key of the form that sent it.

    Empty words where none is being read: another person's, ended, not begun, never sent.
    """
    said = reading_progress.said(person_of(request), request.GET.get("key", ""))
    return JsonResponse({"step": said.step, "count": said.count})


@require_safe
def photo_file(request: HttpRequest, sha256: str) -> HttpResponse:
    """Show a stored photo: the taker's own, of a job one works on, any at the desk."""
    stored = photo_read(person_of(request), sha256)
    try:
        return HttpResponse(photos.bytes_of(stored), content_type="image/jpeg")
    except FileNotFoundError as gone:
        raise Http404 from gone
