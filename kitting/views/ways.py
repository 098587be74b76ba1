"""Other ways to do what the parts list does, by what the shelves hold; one is taken by hand."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Role
from inventory.once import once
from kitting import by_hand, other_ways
from kitting.access import job_write, kit_read
from kitting.packing import Reason, Refused


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.MANAGER)
@once
def job_ways(request: HttpRequest, code: str) -> HttpResponse:
    """List what would reach as well; take one with the button of its row."""
    person = person_of(request)
    job = job_write(person, code)
    kit = kit_read(person, job.code)
    refused: tuple[Reason, ...] = ()
    if request.method == "POST":
        try:
            messages.success(request, other_ways.take(kit, request.POST.get("take", ""), person))
            return redirect("job_ways", code=job.code)
        except Refused as refusal:
            refused = refusal.reasons
    context = {
        "job": job,
        "choices": other_ways.choices(kit),
        "changed": by_hand.notes(kit),
        "refused": refused,
    }
    return render(request, "kitting/job_ways.html", context)
