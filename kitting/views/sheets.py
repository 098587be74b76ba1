"""Sheets to print: the pick sheet for the warehouse, the site and hand-over sheets for the crew."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import translation
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from inventory.access import needs, person_of
from inventory.models import Role
from kitting.access import job_read, kit_write
from kitting.models import Kit
from kitting.printing import handover, paper, pick, site


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def kit_pick_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """What is to be taken, bin by bin, with codes."""
    return _printed(request, kit_write(person_of(request), code), pick.pdf, "pick")


@require_safe
def job_site_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """What the crew does, step by step; for the desk and the job's crew."""
    return _printed(request, _kit_of_job(request, code), site.pdf, "site")


@require_safe
def job_hand_over(request: HttpRequest, code: str) -> HttpResponse:
    """What stands there and what was measured; for the desk and the job's crew."""
    return _printed(request, _kit_of_job(request, code), handover.pdf, "hand-over")


def _kit_of_job(request: HttpRequest, code: str) -> Kit:
    kit = job_read(person_of(request), code).kit
    if kit is None:
        raise Http404
    return kit


def _printed(
    request: HttpRequest, kit: Kit, pdf: Callable[[Kit, str], bytes], name: str
) -> HttpResponse:
    try:
        size = paper.first_of(request.GET.get("paper") or settings.PAPER)
    except ValueError as error:
        raise Http404 from error
    # The customer may speak another language than who prints it: the page's, unless one is asked.
    language = request.GET.get("language") or get_language()
    if language not in (*(code for code, _ in settings.LANGUAGES), None):
        raise Http404
    with translation.override(language):
        file = pdf(kit, size)
    answer = HttpResponse(file, content_type="application/pdf")
    answer.headers["Content-Language"] = language or settings.LANGUAGE_CODE
    answer.headers["Content-Disposition"] = f'inline; filename="{name}-{kit.code}.pdf"'
    return answer
