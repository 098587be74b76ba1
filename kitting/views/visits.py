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
from inventory.models import Person, Role
from inventory.once import once
from kitting import visiting
from kitting.access import job_read, job_write
from kitting.forms import VisitForm
from kitting.models import Job
from kitting.packing import Reason, Refused
from kitting.planning import workday
from kitting.progress import fold


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def job_visit(request: HttpRequest, code: str) -> HttpResponse:
    """Change day, hour, van or crew of a job, or put it off; cancelling is pressed here too."""
    person = person_of(request)
    job = job_write(person, code) if request.method == "POST" else job_read(person, code)
    form = VisitForm(request.POST or None, initial=_now(job))
    refused: tuple[Reason, ...] = ()
    if request.method == "POST" and (day := _put_off(request, job)) is not None:
        form = VisitForm({**_now(job), "date": day.isoformat()})
    if request.method == "POST" and form.is_valid():
        try:
            _change(person, job, form.cleaned_data)
        except Refused as refusal:
            refused = refusal.reasons
        else:
            messages.success(request, f"{job.code} leaves on {job.date:%A} {job.date.day}.")
            return redirect("job", code=job.code)
    context = {"job": job, "kit": job.kit, "form": form, "refused": refused}
    return render(request, "kitting/job_visit.html", context | _about(job))


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
    return {"later": _later(job), "packed": packed, "changes": visiting.changes(job)}
