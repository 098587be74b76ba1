"""Setting up a hand scanner: two codes to scan, on the screen or on paper."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory import badges
from inventory.access import needs, person_of
from inventory.labels import lesson, png, sheet
from inventory.models import Role
from inventory.taking_over import NOBODY

ON_SCREEN, ON_PAPER = 203, 600  # dots per inch
ALL = (Role.WAREHOUSE, Role.TECHNICIAN, Role.MANAGER)


@require_safe
@needs(*ALL)
def scanner(request: HttpRequest) -> HttpResponse:
    """Show the codes; what they teach is kept in the browser."""
    first, second = lesson.TEXTS
    return render(request, "inventory/scanner.html", {"first": first, "second": second})


@require_safe
@needs(*ALL)
def scanner_code(request: HttpRequest, number: int) -> HttpResponse:
    """Draw one of the codes as a picture."""
    if not 1 <= number <= len(lesson.LABELS):
        raise Http404
    picture = png.png(lesson.LABELS[number - 1], ON_SCREEN, lesson.SHEET)
    return HttpResponse(picture, content_type="image/png")


@require_safe
@needs(*ALL)
def scanner_sheet(request: HttpRequest) -> HttpResponse:
    """Draw both on a sheet."""
    answer = HttpResponse(
        sheet.pdf(lesson.LABELS, ON_PAPER, 0, lesson.SHEET), content_type="application/pdf"
    )
    answer.headers["Content-Disposition"] = 'inline; filename="hand-scanner.pdf"'
    return answer


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def badge_holds(request: HttpRequest, badge: str) -> JsonResponse:
    """Say whose a badge is before it holds, as {"holds", "words"}.

    Nothing is kept: the scans that follow carry the badge in `hands`.
    """
    asking, person = person_of(request), badges.person_by_badge(badge)
    if person is None:
        return JsonResponse({"holds": False, "words": f"{NOBODY}."})
    signed_in = "" if person.pk == asking.pk else f", {asking.name} is signed in"
    return JsonResponse({"holds": True, "words": f"{person.name} has the scanner{signed_in}."})
