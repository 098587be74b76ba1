"""Compare a job with another one, or with a changed copy of itself."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory.access import needs, person_of
from inventory.models import Person, Role
from kitting import comparing, families, planning
from kitting import draft as drafts
from kitting.access import job_read, jobs_of
from kitting.forms import JobForm
from kitting.models import Job, JobKind, Kit
from kitting.views import editor

LATEST = 60  # jobs that are offered to compare with
COPIED = (JobKind.NEW, JobKind.EXPANSION)  # kinds of which a changed copy can be asked for


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.WAREHOUSE, Role.MANAGER)
def job_compare(request: HttpRequest, code: str) -> HttpResponse:
    """Show what differs, step by step, item by item, and why. Nothing is stored."""
    person = person_of(request)
    job = job_read(person, code)
    kit = job.kit
    if kit is None:
        raise Http404
    context: dict[str, Any] = {"job": job, "kit": kit, "others": _others(person, job)}
    if request.GET.get("with"):
        other = job_read(person, request.GET["with"]).kit
        if other is None:
            raise Http404
        found = comparing.of_kits(kit, other)
        context |= {"comparison": found, "other": other}
        return render(request, "kitting/job_compare.html", context)
    if job.kind not in COPIED:
        return render(request, "kitting/job_compare.html", context)
    return _copy(request, kit, context)


def _others(person: Person, job: Job) -> list[Job]:
    """The latest jobs with a kit, the same site's first."""
    jobs = jobs_of(person).filter(kits__isnull=False).exclude(pk=job.pk).distinct()
    latest = jobs.order_by("-pk")[:LATEST]
    return sorted(latest, key=lambda other: other.site_id != job.site_id)


def _copy(request: HttpRequest, kit: Kit, context: dict[str, Any]) -> HttpResponse:
    """The job's own answers in fields; what is changed in them shows at once."""
    family = families.family_of(kit.edition)
    now = planning.as_fields(kit.snapshot["configuration"], family)
    held = editor.typed(request.POST) if request.method == "POST" else now
    form = JobForm({family.name: family}, initial={**held, "family": now["family"]})
    draft = drafts.of(form, {})
    whole = draft.summary is not None
    context["comparison"] = comparing.with_answers(kit, form.answered()) if whole else None
    known = {family.name: family}
    template = "kitting/job_compare.html"
    return editor.shown(request, form, draft, known, template=template, copy=True, **context)
