"""Places of ours: depots, docks, bins, bays, vans."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory import placing
from inventory.access import needs
from inventory.forms import PlaceForm
from inventory.models import Role
from inventory.once import once
from inventory.overviews import our_places


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def places(request: HttpRequest) -> HttpResponse:
    """List our places and vans, and add one."""
    form = PlaceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        made = placing.make(
            given["kind"],
            given["name"],
            parent=given["parent"],
            order=given["order"] or 0,
            time_zone=given["time_zone"],
            purpose=given["purpose"],
        )
        messages.success(request, f"{made.name} is entered; its label code is {made.code}.")
        return redirect("places")
    return render(request, "inventory/places.html", {"form": form, "places": our_places()})
