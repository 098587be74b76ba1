"""A job's visit: another day, van or crew; postponed; cancelled."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Person, Place, Role
from inventory.once import once
from inventory.overviews import our_vans
from kitting import rechecking, travelling, vans, vans_out, visiting, whereto
from kitting.access import job_read, job_write
from kitting.forms import VisitForm
from kitting.models import Job, Kit, Package
from kitting.packing import Reason, Refused
from kitting.plan.van import LOOK, OVER
from kitting.planning import workday
from kitting.progress import fold
from kitting.views import closed


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def job_visit(request: HttpRequest, code: str) -> HttpResponse:
    """Change day, hour, van or crew of a job, or put it off; cancelling is pressed here too."""
    person = person_of(request)
    job = job_write(person, code) if request.method == "POST" else job_read(person, code)
    if job.kit is not None and job.kit.closed_by_id is not None:
        return closed.told(request, job.kit, "job")
    form = VisitForm(request.POST or None, initial=_now(job))
    refused: tuple[Reason, ...] = ()
    if "split" in request.POST:
        return _split(request, job, person)
    if request.method == "POST" and (day := _put_off(request, job)) is not None:
        form = VisitForm({**_now(job), "date": day.isoformat()}, initial=_now(job))
    if request.method == "POST" and form.is_valid():
        try:
            _change(person, job, form.cleaned_data)
        except Refused as refusal:
            refused = refusal.reasons
        else:
            messages.success(request, f"{job.code} leaves on {job.date:%A} {job.date.day}.")
            return redirect("job_visit", code=job.code)
    context = {"job": job, "kit": job.kit, "form": form, "refused": refused}
    return render(request, "kitting/job_visit.html", context | _about(job))


def _split(request: HttpRequest, job: Job, by: Person) -> HttpResponse:
    """Each parcel with the van that was chosen for it."""
    going = {str(van.pk): van for van in our_vans()}
    chosen = {
        int(name.removeprefix("parcel-")): going[value]
        for name, value in request.POST.items()
        if name.startswith("parcel-") and name[7:].isdecimal() and value in going
    }
    try:
        visiting.split(job, chosen, by)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, f"{job.code}: each parcel goes with the van chosen for it.")
    return redirect("job_visit", code=job.code)


def _now(job: Job) -> dict[str, Any]:
    """The visit as the form has it."""
    leaves = timezone.localtime(job.leaves_at) if job.leaves_at else None
    return {
        "date": job.date.isoformat(),
        "leaves_at": f"{leaves:%H:%M}" if leaves else "",
        "van": str(job.van_id or ""),
        "crew": [str(pk) for pk in job.crew.values_list("pk", flat=True)],
    }


def _put_off(request: HttpRequest, job: Job) -> date | None:
    """The day that a pressed button puts the job off to."""
    for name, day in _later(job):
        if request.POST.get("put_off") == name:
            return day
    return None


def _later(job: Job) -> tuple[tuple[str, date], ...]:
    return ("workday", workday(job.date)), ("week", job.date + timedelta(days=7))


def _change(by: Person, job: Job, given: dict[str, Any]) -> None:
    leaves_at = None
    if given["leaves_at"]:
        leaves_at = timezone.make_aware(datetime.combine(given["date"], given["leaves_at"]))
    visiting.change_job(
        job, day=given["date"], leaves_at=leaves_at, van=given["van"], crew=given["crew"], by=by
    )


def _about(job: Job) -> dict[str, Any]:
    """What stands ready for the job, so that nobody cancels it unseen."""
    kit = job.kit
    out = kit is not None and kit.released_at is not None and kit.closed_by_id is None
    packed = [row for row in fold(kit).lines if row.picked] if kit and out else []
    shown = {"later": _later(job), "packed": packed, "changes": visiting.changes(job)}
    shown["days"] = [_told(van, job) for van in _vans(job, kit)]
    if kit is None or not out:
        return shown
    parcels = (
        kit.packages.filter(kind=Package.Kind.PARCEL).select_related("place").order_by("number")
    )
    return shown | {
        "going": whereto.of_kit(kit, timezone.localdate()),
        "again": rechecking.of_kit(kit),
        "parcels": parcels,
        "vans": our_vans(),
    }


def _vans(job: Job, kit: Kit | None) -> list[Place]:
    """The vans that go out with the job: judged before anything is packed, too."""
    if job.cancelled_at is not None or (kit is not None and kit.closed_by_id is not None):
        return []
    if kit is not None:
        return travelling.vans_of(kit)
    return [job.van] if job.van is not None else []


def _told(van: Place, job: Job) -> dict[str, Any]:
    """What the rules say to a van's day that a person has to look at."""
    findings = vans.day_of(van, job.date).checked.findings
    return {
        "van": van,
        "out": vans_out.standing(van, job.date),
        "findings": [finding for finding in findings if finding.tone in (OVER, LOOK)],
    }
