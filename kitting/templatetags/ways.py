"""The ways from any page to any other: groups by the work that somebody is at, today's unfolded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from django import template
from django.template import RequestContext
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import SafeString
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

register = template.Library()

OFFICE, STORE, CREW = "manager", "warehouse", "technician"
BOTH, ALL = OFFICE + STORE, OFFICE + STORE + CREW

GROUPS = (
    (
        _("Today"),
        (CREW, "my_jobs", _("My jobs")),
        (CREW, "sites", _("Sites")),
        (CREW, "my_bag", _("My bag")),
        (OFFICE, "week", _("The week")),
        (BOTH, "kits", _("Kits to pick")),
        (BOTH, "part_requests", _("Asked for by crews")),
        (BOTH, "calls", _("A technician calls")),
        (STORE, "goods_in", _("Goods in")),
        (BOTH, "problems", _("Problems")),
        (BOTH, "trace", _("Trace a code")),
    ),
    (
        _("Planning"),
        (OFFICE, "job_new", _("Plan a job")),
        (BOTH, "short_stock", _("Short stock")),
        (BOTH, "whole_stacks", _("Whole stacks")),
        (BOTH, "day_cuts", _("Cuts of a day")),
        (BOTH, "to_order", _("What to order today")),
        (BOTH, "on_order", _("On order")),
        (OFFICE, "sites", _("Sites")),
    ),
    (
        _("Goods"),
        (STORE, "deliveries", _("Deliveries")),
        (STORE, "put_away", _("Put away")),
        (STORE, "counting", _("Count")),
        (STORE, "pieces", _("Reels and opened packs")),
        (BOTH, "made_bags", _("Bags made ahead")),
        (BOTH, "charging", _("To be charged")),
        (BOTH, "returns", _("Returns")),
    ),
    (
        _("Look up"),
        (BOTH, "stock", _("Stock")),
        (BOTH, "stock_then", _("Stock on a day")),
        (BOTH, "lists", _("Parts lists")),
        (BOTH, "boxes", _("What boxes hold")),
        (BOTH, "substitutes", _("What may stand for what")),
        (BOTH, "photo", _("Read a photo")),
    ),
    (
        _("Trouble"),
        (BOTH, "claims", _("Claims")),
        (BOTH, "notices", _("Recalls")),
        (BOTH, "call_list", _("Call list")),
        (OFFICE, "evidence", _("Damage by whom")),
    ),
    (
        _("Labels"),
        (BOTH, "labels", _("Labels")),
        (BOTH, "printing", _("What was printed")),
        (OFFICE, "printers", _("Printers")),
    ),
    (
        _("Set up"),
        (OFFICE, "people", _("People")),
        (OFFICE, "places", _("Places and vans")),
        (OFFICE, "partners", _("Suppliers and carriers")),
        (OFFICE, "bring_in", _("Bring in a file")),
        (ALL, "scanner", _("Set up a hand scanner")),
        (ALL, "bench", _("Figures at the bench")),
    ),
)


@dataclass(frozen=True)
class Group:
    """Ways under one heading: (address, words, whether somebody is there now)."""

    name: str
    ways: list[tuple[str, str, bool]]
    unfolded: bool


@register.simple_tag(takes_context=True)
def ways(context: RequestContext) -> SafeString:
    """The groups open to whoever is signed in; unfolded are today's and the one of this page."""
    request = context["request"]
    match = request.resolver_match
    known = match.url_name if match and match.url_name in _addresses() else ""
    return _drawn(frozenset(context["user"].roles), known, get_language() or "")


@cache  # one for each page that has a way, role and language
def _drawn(roles: frozenset[str], here: str, _language: str) -> SafeString:
    return render_to_string("parts/way_groups.html", {"groups": list(_groups(roles, here))})


def _groups(roles: frozenset[str], here: str) -> Iterator[Group]:
    told: set[str] = set()
    for name, *rows in GROUPS:
        mine = [
            (_addresses()[page], str(words), page == here)
            for whose, page, words in rows
            if page not in told and any(role in whose for role in roles)
        ]
        told |= {page for whose, page, words in rows if any(role in whose for role in roles)}
        if mine:
            first = not roles & {OFFICE, STORE} or name == GROUPS[0][0]
            yield Group(str(name), mine, first or any(now for _, _, now in mine))


@cache
def _addresses() -> dict[str, str]:
    return {page: reverse(page) for _, *rows in GROUPS for _, page, _ in rows}
