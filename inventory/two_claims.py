"""Two claims on one thing: who asked for it, who has it by the book, and what ends that.

A scan that stands it in a stack, or brings it where nobody's parcel or site is, ends it; so does
what the upper house says is over (`over`). Else a person says who keeps it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps

from django.db.models import Q

from inventory.intake import Verdict
from inventory.models import ContainerMove, Finding, Movement, Place, PlaceKind, Unit
from inventory.moving import Writing
from inventory.scanning import UP
from inventory.subjects import Named, named

MOVED = frozenset({"applied", "problem"})
HOW = (
    "It ends by itself once it is fitted, lies on a shelf or in a van with no kit, or either kit is"
    " closed."
)


@dataclass(frozen=True, slots=True)
class TwoClaims:
    """Who says what of one thing."""

    asks: str  # subject of the scan that was not let through, "" for none
    has: str  # subject of whose it is by the book, "" where nobody's
    place: Place | None  # where it is by the book


@dataclass(frozen=True, slots=True)
class Told:
    """The same for a page."""

    asks: Named | None
    has: Named | None
    place: Place | None
    how: str = HOW

    @property
    def stays(self) -> str:
        """What a person says who leaves it with whom the book has."""
        return f"It stays with {self.has.words}" if self.has else "It stays where the book has it"


def of(findings: Iterable[Finding]) -> dict[int, TwoClaims]:
    """Return id of a problem -> its claims, of those that are about two."""
    clashes = [one for one in findings if one.kind == Finding.Kind.CLASH]
    units = [one.unit_id for one in clashes if one.unit_id is not None]
    moves = Movement.objects.filter(unit__in=units).exclude(event__subject="").order_by("pk")
    last = dict(moves.values_list("unit", "event__subject"))  # the latest stays
    at = {one.pk: one.unit.place_id if one.unit else one.place_id for one in clashes}
    places = Place.objects.select_related(UP).in_bulk(set(at.values()) - {None})
    found = {}
    for one in clashes:
        place = places.get(at[one.pk] or 0)
        around = place.way_up() if place is not None else []
        packed = next((at.subject for at in around if at.subject), "")
        at_site = place is not None and place.within(PlaceKind.SITE, PlaceKind.STACK) is not None
        has = packed or (last.get(one.unit_id or 0, "") if at_site else "")
        found[one.pk] = TwoClaims(one.subject, has, place)
    return found


def told(findings: Sequence[Finding]) -> dict[int, Told]:
    """Return id of an open problem -> what a page of the office says of both claims, with links."""
    clashes = [one for one in findings if one.kind == Finding.Kind.CLASH]
    claims = of(one for one in clashes if not hasattr(one, "answer"))
    shown = named({subject for one in claims.values() for subject in (one.asks, one.has)})
    other = {pk: one.has if one.has != one.asks else "" for pk, one in claims.items()}
    return {
        pk: Told(shown.get(one.asks), shown.get(other[pk]), one.place) for pk, one in claims.items()
    }


def ended(act: Callable[[Writing], Verdict]) -> Callable[[Writing], Verdict]:
    """Let an act that moves things end the claims on them that the book has settled by it."""

    @wraps(act)  # it is still that act, of its own house
    def and_the_claims(writes: Writing) -> Verdict:
        verdict = act(writes)
        if verdict.word in MOVED:
            _settle(writes)
        return verdict

    return and_the_claims


def over(writes: Writing, words: Mapping[int, str]) -> None:
    """Answer these problems: id -> what ended it."""
    for finding in Finding.objects.filter(pk__in=words, answer=None).order_by("pk"):
        writes.answer(finding, words[finding.pk])


def open_ones() -> Q:
    """Restrict problems to claims that nobody has ended."""
    return Q(kind=Finding.Kind.CLASH, answer=None, event__reversed_by=None)


def _settle(writes: Writing) -> None:
    units = Movement.objects.filter(event=writes.event).exclude(unit=None).values("unit")
    boxes = ContainerMove.objects.filter(event=writes.event).values("place")
    about = Q(unit__in=units) | Q(place__in=boxes) | Q(unit__place__in=boxes)
    found = Finding.objects.filter(about, open_ones()).exclude(event=writes.event)
    words = {}
    for one in found.select_related("unit__item", "unit__place", "place"):
        thing: Unit | Place | None = one.unit or one.place
        place = one.unit.place if one.unit is not None else one.place
        if place is None or thing is None:
            continue
        if place.within(PlaceKind.STACK) is not None:
            words[one.pk] = f"{thing} stands fitted now."
        elif not any(at.subject for at in place.way_up()) and not place.within(PlaceKind.SITE):
            words[one.pk] = f"{thing} is at {place.name} now, with no kit."
    over(writes, words)
