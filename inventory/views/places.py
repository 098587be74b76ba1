"""Our own places: the depots with docks and bins, and the vans."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory import placing
from inventory.access import needs, person_of, place_write
from inventory.models import Role
from inventory.once import once
from inventory.overviews import places_few_first
from inventory.place_forms import PlaceChangeForm, PlaceForm

PAGE = 100


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def places(request: HttpRequest) -> HttpResponse:
    """List our places and vans, `q` searches them; add one."""
    form = PlaceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = placing.make(**form.cleaned_data)
        messages.success(request, f"{made.name} is entered; its label code is {made.code}.")
        return redirect("places")
    search = request.GET.get("q", "").strip()[:60]
    page = Paginator(places_few_first(search), PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "search": search}
    return render(request, "inventory/places.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
def place_change(request: HttpRequest, code: str) -> HttpResponse:
    """Change what a place is called, its turn in the walk, its purpose; take it out of use."""
    person = person_of(request)
    place = place_write(person, code)
    now = {name: getattr(place, name) for name in PlaceChangeForm.base_fields}
    form = PlaceChangeForm(request.POST or None, initial=now)
    if request.method == "POST" and form.is_valid():
        try:
            placing.rearrange(place, person, **form.cleaned_data)
        except ValueError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{form.cleaned_data['name']}: changed.")
            return redirect("places")
    return render(request, "inventory/place_change.html", {"form": form, "place": place})
