"""A job: its kit with every reason, releasing it, changing its day, van or crew."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory import two_claims
from inventory.access import needs, person_of
from inventory.models import Person, Role
from inventory.once import once
from inventory.overviews import docks
from kitting import (
    other_ways,
    overviews,
    packing,
    ready_over_time,
    recalled,
    sourcing,
    ticking,
    visiting,
)
from kitting.access import job_read, job_write
from kitting.drawing import drawing_of
from kitting.models import Job, Kit
from kitting.overdue import is_overdue
from kitting.packing import Reason, Refused
from kitting.progress import fold
from kitting.queries import findings_of, left_of
from kitting.views import changes


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def job(request: HttpRequest, code: str) -> HttpResponse:
    """Show a job: its stack, its kit by step with reasons, what is short; release it."""
    person = person_of(request)
    found = job_write(person, code) if request.method == "POST" else job_read(person, code)
    refused: tuple[Reason, ...] = ()
    if request.method == "POST":
        try:
            messages.success(request, _act(request, person, found))
            return redirect("job", code=found.code)
        except Refused as refusal:
            refused = refusal.reasons
    kit = found.kit
    context: dict[str, Any] = {"job": found, "kit": kit, "refused": refused}
    if kit is not None:
        progress = recalled.with_aside([fold(kit)])[kit.pk]
        done = kit.closed_by_id or found.cancelled_at
        short = [] if done else sourcing.shortages(kit, progress)
        context |= overviews.changes_about(kit) | {
            "readiness": overviews.readiness(found, kit, progress, short),
            "steps": overviews.steps_of(kit, progress),
            "short": short,
            "others": other_ways.when_short(kit, [one.item for one in short]),
            "over": progress.to_put_back,
            "findings": (findings := list(findings_of(kit, claims=True))),
            "claims": two_claims.told(findings),
            "closing": _closing(found, kit),
            "drawing": drawing_of(kit, progress),
            "drawn": ready_over_time.drawing(kit, timezone.now(), progress),
        }
    return render(request, "kitting/job.html", context)


def _closing(job: Job, kit: Kit) -> dict[str, Any]:
    """What the office closes a job with whose day has passed; nothing for any other."""
    if not kit.is_open or not is_overdue(job, kit, timezone.localdate()):
        return {}
    return {
        "left": left_of(kit),
        "ticks": ticking.unanswered(kit),
        "why_not": ticking.WHY_NOT,
        "docks": docks(),
    }


def _act(request: HttpRequest, person: Person, job: Job) -> str:
    """Carry out the pressed button; return what to say. Raises Refused."""
    kit = job.kit
    if "release" in request.POST and kit is not None:
        short = packing.release(kit, person)
        return f"{kit.code} is with the warehouse." + (f" Short: {len(short)}." if short else "")
    if "cancel" in request.POST:
        visiting.cancel_job(job, person)
        return f"{job.code} is cancelled."
    if "take_both" in request.POST:
        return changes.take_both(person, job, request.POST["take_both"])
    if "work_out" in request.POST:
        return f"{packing.work_out_kit(job, person).code} is worked out."
    raise Refused([Reason("button", "expected one of the buttons of this page")])


@require_safe
def job_drawing(request: HttpRequest, code: str) -> HttpResponse:
    """The drawing of the stack alone, to print; for the desk and the job's crew."""
    found = job_read(person_of(request), code)
    kit = found.kit
    drawing = drawing_of(kit, fold(kit)) if kit else None
    return render(request, "kitting/job_drawing.html", {"job": found, "drawing": drawing})
