"""A technician calls: find the job, write down what is wrong, say who brings it and when."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.access import needs, person_of
from inventory.models import Person, Role
from kitting import asked_for, calling_in, travelling, where_near
from kitting.access import job_read
from kitting.asked_for import Asked
from kitting.views import closed

LONGEST = 120  # characters of what is looked for


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def calls(request: HttpRequest) -> HttpResponse:
    """Find the job that a caller means, by street, name or the end of a serial."""
    asked = request.GET.get("q", "").strip()[:LONGEST]
    found = calling_in.jobs_for(asked, timezone.localdate())
    context = {"asked": asked, "found": found, "least": calling_in.LEAST}
    return render(request, "kitting/calls.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def job_call(request: HttpRequest, code: str) -> HttpResponse:
    """One job with its caller: what is wrong, and what becomes of what was asked for."""
    job = job_read(person_of(request), code)
    kit = job.kit
    if kit is not None and kit.closed_by_id is not None:
        return closed.told(request, kit, "kit")
    things = travelling.choices_of(kit) if kit is not None and kit.is_open else []
    rows = [one for one in asked_for.of_kit(kit) if not one.over] if kit is not None else []
    context = {"job": job, "kit": kit, "things": things} | _beside(rows)
    return render(request, "kitting/job_call.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def part_requests(request: HttpRequest) -> HttpResponse:
    """What crews asked for and has not come, what rings first."""
    return render(request, "kitting/part_requests.html", _beside(asked_for.open_ones()))


def _beside(rows: list[Asked]) -> dict[str, Any]:
    """What a page of requests shows beside each: where one lies, who may bring it."""
    people = Person.objects.filter(is_active=True).order_by("name")
    near = where_near.of([one.request for one in rows])
    return {"rows": [(one, near[one.request.pk]) for one in rows], "people": list(people)}
