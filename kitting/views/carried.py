"""What a van or a person's own bag always carries: the list, and what is to be brought to it."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Person, Place, Role
from inventory.once import once
from inventory.overviews import our_places
from kitting import standing_list, tools_due, van_levels
from kitting.access import colleague_read, colleague_write, van_read, van_write
from kitting.carried_forms import CarriedForm


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def van_top_up(request: HttpRequest, code: str) -> HttpResponse:
    """Show what a van lacks of its standing list; a manager tells what is on the list."""
    person = person_of(request)
    van = (van_write if request.method == "POST" else van_read)(person, code)
    return _top_up(request, van, reverse("van_top_up", args=[code]))


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def own_bag(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Show the list of a person's own bag; a manager gives one, and tells what is on the list."""
    by, here = person_of(request), reverse("own_bag", args=[uid])
    owner = (colleague_write if request.method == "POST" else colleague_read)(by, uid)
    bag = standing_list.bag_of(owner)
    if bag is not None:
        return _top_up(request, bag, here, owner)
    may_give = by.has(Role.MANAGER) and owner.is_active
    if request.method == "POST":
        if may_give:
            standing_list.give_bag(owner, by)
        return redirect(here)
    return render(request, "kitting/no_bag.html", {"owner": owner, "may_give": may_give})


def _top_up(
    request: HttpRequest, place: Place, here: str, owner: Person | None = None
) -> HttpResponse:
    """owner: of the bag; None for a van. here: the address of this page."""
    person = person_of(request)
    form, fault = CarriedForm(request.POST or None), ""
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            row = standing_list.tell(place, given["item"], given["least"], given["up_to"], person)
        except standing_list.ListError as error:
            fault = str(error)
        else:
            said = f"{row.least} to {row.up_to} on {place.name}" if row.up_to else "off the list"
            messages.success(request, f"{row.item.name}: {said}.")
            return redirect(here)
    may_tell = person.has(Role.MANAGER)
    levels = standing_list.levels(place, timezone.localdate())
    context = {
        "place": place,
        "owner": owner,
        "levels": levels,
        "bags": [] if owner else standing_list.bags_with(place, timezone.localdate()),
        "below": [level for level in levels if level.to_bring],
        "enough": [level for level in levels if not level.to_bring],
        "due": [one for one in tools_due.due(timezone.localdate()) if one.place == place],
        "advice": van_levels.advice(place, timezone.localdate()) if may_tell else None,
        "form": form,
        "fault": fault,
        "may_tell": may_tell,
        "places": our_places(),
        "today": timezone.localdate(),
    }
    return render(request, "kitting/van_top_up.html", context)
