"""A van's day: its jobs, its papers, what the rules say."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory.access import needs, person_of
from inventory.models import Role
from kitting import van_loading, vans
from kitting.access import day_read, van_read, van_write
from kitting.plan.van import ABOARD
from kitting.van_forms import PapersForm


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def van_day(request: HttpRequest, code: str, day: str) -> HttpResponse:
    """Show a van's day; a manager enters what its papers say."""
    person = person_of(request)
    place = (van_write if request.method == "POST" else van_read)(person, code)
    found = vans.day_of(place, day_read(day))
    form = PapersForm(request.POST or None, instance=found.facts)
    if request.method == "POST" and form.is_valid():
        vans.enter_papers(place, person, **form.cleaned_data)
        messages.success(request, f"The papers of {place.name} are entered.")
        return redirect("van_day", code=code, day=day)
    context = {
        "found": found,
        "form": form,
        "may_enter": person.has(Role.MANAGER),
        "shares": zip(found.rides, _in_order(found), strict=True),
        "before_jobs": next((s for s in found.checked.shares if s.job == ABOARD), None),
        "before": found.day.fromordinal(found.day.toordinal() - 1),
        "after": found.day.fromordinal(found.day.toordinal() + 1),
    }
    return render(request, "kitting/van_day.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def van_load(request: HttpRequest, code: str, day: str) -> HttpResponse:
    """Load a van for all its visits of a day, the last one first."""
    place = van_read(person_of(request), code)
    turns = van_loading.turns(place, day_read(day))
    left = sum(turn.left for turn in turns)
    context = {"van": place, "day": day_read(day), "turns": turns, "left": left}
    return render(request, "kitting/van_load.html", context)


def _in_order(found: vans.VanDay) -> list[object]:
    by_job = {share.job: share for share in found.checked.shares}
    return [by_job[ride.job.code] for ride in found.rides]
