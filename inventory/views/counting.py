"""Counting bins without being told what the book has; reels, opened packs and remnants."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inventory.access import needs
from inventory.models import Role
from inventory.overviews import asked_counts, asked_refills, known_at, our_places
from inventory.pieces import open_pieces
from inventory.queries import latest_mark, place_of_code


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def counting(request: HttpRequest) -> HttpResponse:
    """Count: the place, then each thing and how many; `at` shows what to look for there."""
    at = place_of_code(request.GET.get("at", "")[:120])
    context = {
        "places": our_places(),
        "at": at,
        "mark": latest_mark(),
        "known": known_at(at) if at else [],
        "asked": asked_counts(),
        "refills": asked_refills(),
    }
    return render(request, "inventory/counting.html", context)


@require_safe
@needs(Role.WAREHOUSE, Role.MANAGER)
def pieces(request: HttpRequest) -> HttpResponse:
    """Label a reel, an opened pack or a remnant; list those that lie here."""
    context = {"places": our_places(), "pieces": open_pieces()}
    return render(request, "inventory/pieces.html", context)
