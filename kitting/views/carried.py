"""What a van always carries: the list, and what is to be brought to it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Role
from inventory.once import once
from inventory.overviews import our_places
from kitting import standing_list, tools_due, van_levels
from kitting.access import van_read, van_write
from kitting.carried_forms import CarriedForm


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
@once
def van_top_up(request: HttpRequest, code: str) -> HttpResponse:
    """Show what a van lacks of its standing list; a manager tells what is on the list."""
    person = person_of(request)
    van = (van_write if request.method == "POST" else van_read)(person, code)
    form, fault = CarriedForm(request.POST or None), ""
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            row = standing_list.tell(van, given["item"], given["least"], given["up_to"], person)
        except standing_list.ListError as error:
            fault = str(error)
        else:
            said = f"{row.least} to {row.up_to} on {van.name}" if row.up_to else "off the list"
            messages.success(request, f"{row.item.name}: {said}.")
            return redirect("van_top_up", code=code)
    may_tell = person.has(Role.MANAGER)
    levels = standing_list.levels(van, timezone.localdate())
    context = {
        "van": van,
        "levels": levels,
        "below": [level for level in levels if level.to_bring],
        "enough": [level for level in levels if not level.to_bring],
        "due": [one for one in tools_due.due(timezone.localdate()) if one.van == van],
        "advice": van_levels.advice(van, timezone.localdate()) if may_tell else None,
        "form": form,
        "fault": fault,
        "may_tell": may_tell,
        "places": our_places(),
        "today": timezone.localdate(),
    }
    return render(request, "kitting/van_top_up.html", context)
