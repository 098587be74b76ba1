"""A van's day: its jobs, its papers, what the rules say."""

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory.access import needs, person_of
from inventory.models import Place, Role
from inventory.once import once
from inventory.overviews import our_vans
from kitting import gates, standing_list, tools_due, van_loading, vans, vans_out, whereto
from kitting.access import day_read, van_read, van_write
from kitting.models import Job, Kit
from kitting.packing import Reason, Refused
from kitting.plan.van import ABOARD
from kitting.planning import workday
from kitting.van_forms import OutForm, PapersForm


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
        "bags": standing_list.bags_with(place, found.day),
        "due": [one for one in tools_due.due(timezone.localdate()) if one.place == place],
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


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def van_out(request: HttpRequest, code: str) -> HttpResponse:
    """A van goes out of service: where its jobs go, and what it carries; or it is back."""
    person = person_of(request)
    place, today = van_write(person, code), timezone.localdate()
    if "back" in request.POST:
        vans_out.bring_back(place, person, timezone.now())
        messages.success(request, f"{place.name} is in service again.")
        return redirect("van_out", code=code)
    form = OutForm(request.POST or None, initial={"first": today.isoformat()})
    jobs = vans_out.jobs_of(place, today, None)
    others = list(our_vans().exclude(pk=place.pk))
    refused: tuple[Reason, ...] = ()
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        goes = {job.pk: to for job in jobs if (to := _goes(request, job, others)) is not None}
        try:
            vans_out.take_out(place, given["first"], given["last"], given["reason"], goes, person)
        except Refused as refusal:
            refused = refusal.reasons
        else:
            messages.success(request, f"{place.name} is out of service.")
            return redirect("van_out", code=code)
    context = {
        "place": place,
        "form": form,
        "refused": refused,
        "out": vans_out.all_standing().get(place.pk),
        "jobs": jobs,
        "vans": others,
        "going": _going(place, today),
        "own": whereto.own_of(place),
        "dock": gates.depot_dock(),
    }
    return render(request, "kitting/van_out.html", context)


def _goes(request: HttpRequest, job: Job, others: list[Place]) -> vans_out.To | None:
    """Where the form sends a job: "van-3", "later", or nowhere yet."""
    chosen = request.POST.get(f"job-{job.code}", "")
    if chosen == "later":
        return vans_out.To(day=workday(job.date))
    van = next((van for van in others if chosen == f"van-{van.pk}"), None)
    return vans_out.To(van=van) if van is not None else None


def _going(place: Place, today: date) -> list[tuple[Kit, whereto.Destination]]:
    """What of any open kit lies in a van, each with where it goes."""
    kits = Kit.objects.filter(released_at__isnull=False, closed_by=None)
    inside = kits.filter(packages__place__parent=place).distinct()
    return [
        (kit, one)
        for kit in inside.select_related("job__site__place", "job__van")
        for one in whereto.of_kit(kit, today)
        if one.at == place.name
    ]


def _in_order(found: vans.VanDay) -> list[object]:
    by_job = {share.job: share for share in found.checked.shares}
    return [by_job[ride.job.code] for ride in found.rides]
