"""Who is served first of what is short: most complete kits beside by date, and what was decided.

The program of `plan.most_kits` proposes; what each kit really gets in a turn is judged by
`sourcing` as on every other page: by serials, days, pieces. The program takes lengths as sums and
any unit as good, so what it calls the most can be too much, never too little.

The only writer of turns.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.lock import writing
from inventory.models import Item, Person
from kitting import sourcing, still_needed
from kitting.folding import fold_each
from kitting.models import Kit, Serving, Turn
from kitting.packing import Reason, Refused
from kitting.plan import most_kits
from kitting.shelves import on_shelves
from kitting.sourcing import Short
from kitting.tallies import Progress

Way = Serving.Way


@dataclass(frozen=True, slots=True)
class Served:
    """One kit under one way."""

    kit: Kit
    lacking: tuple[Short, ...]  # what is short, known to be so

    @property
    def whole(self) -> bool:
        """Whether the shelves cover all that it still needs."""
        return not self.lacking


@dataclass(frozen=True, slots=True)
class OneWay:
    """What one way would mean today."""

    way: str
    served: tuple[Served, ...]  # in the turn of the way

    @property
    def title(self) -> str:
        """What people call it."""
        return Way(self.way).label.capitalize() if self.way else "Now"

    @property
    def whole(self) -> int:
        """Kits that are whole."""
        return sum(one.whole for one in self.served)

    @property
    def seen(self) -> str:
        """The turn in words, by which a press knows whether the page was still right."""
        return " ".join(f"{one.kit.code}{'+' if one.whole else '-'}" for one in self.served)


@dataclass(frozen=True, slots=True)
class SideBySide:
    """What is short, under each way."""

    now: OneWay
    ways: tuple[OneWay, ...]  # most complete kits, by date, in the order of release
    at_most: int  # no turn makes more kits whole
    short: tuple[Item, ...]

    @property
    def rows(self) -> list[tuple[Served, Served, Served]]:
        """Each kit as it is served now, by most kits and by date; those that leave first first."""
        most, by_date = (
            sorted(way.served, key=lambda one: _leaves(one.kit)) for way in self.ways[:2]
        )
        now = {one.kit.pk: one for one in self.now.served}
        return [(now[one.kit.pk], one, other) for one, other in zip(most, by_date, strict=True)]


def _leaves(kit: Kit) -> tuple[str, str, int]:
    return kit.job.date.isoformat(), str(kit.job.leaves_at or "~"), kit.pk


def side_by_side() -> SideBySide:
    """Return each way, worked out now; of many kits it takes some seconds."""
    kits = list(still_needed.open_kits())
    progresses = fold_each(kits)
    now = _judged("", progresses)
    items = {one.item.code: one.item for served in now.served for one in served.lacking}
    claims = sorted(progresses, key=lambda one: _leaves(one.kit))
    jobs = [_needs(progress, items) for progress in claims]
    shelves = on_shelves(item.pk for item in items.values())
    there = {code: sum(spot.quantity for spot in shelves[item.pk]) for code, item in items.items()}
    best = most_kits.share(jobs, there)
    released = sorted(progresses, key=lambda one: (str(one.kit.released_at), one.kit.pk))
    ways = (
        _judged(Way.MOST, _first(claims, best.whole)),
        _judged(Way.DATE, _first(claims, most_kits.by_date(jobs, there))),
        _judged(Way.RELEASE, released),
    )
    return SideBySide(now, ways, best.bound, tuple(items[code] for code in sorted(items)))


def _needs(progress: Progress, short: Iterable[str]) -> dict[str, int]:
    """Item -> base units that a kit cannot do without, of what is short."""
    totals = [progress.totals[code] for code in short if code in progress.totals]
    wanted = {total.item.code: total.must_pick + total.to_replace for total in totals}
    return {code: quantity for code, quantity in wanted.items() if quantity}


def _first(claims: Sequence[Progress], whole: Sequence[int]) -> list[Progress]:
    """Those that are whole, then the rest, each by date."""
    taken = {claims[at].kit.pk for at in whole}
    return sorted(claims, key=lambda one: one.kit.pk not in taken)


def _judged(way: str, progresses: Sequence[Progress]) -> OneWay:
    """What each kit lacks in this turn. What nobody ever counted may lie there all the same."""
    lacking = sourcing.shortages_by_kit(progresses)
    return OneWay(
        way,
        tuple(
            Served(one.kit, tuple(short for short in lacking[one.kit.pk] if short.known))
            for one in progresses
        ),
    )


def in_force() -> Serving | None:
    """Return what was decided last, None where nobody did: the order of release."""
    return Serving.objects.select_related("by").order_by("-pk").first()


def decide(way: str, seen: str, by: Person) -> Serving:
    """Let kits take from the shelves in this turn from now on. seen: `OneWay.seen` of the page.

    Raises Refused where the way is none, or the shelves or kits changed since.
    """
    if way not in Way.values:
        raise Refused([Reason("way", f"expected one of {', '.join(Way.labels)}, got {way[:20]!r}")])
    both = side_by_side()  # some seconds: not under the lock
    chosen = next(one for one in both.ways if one.way == way)
    if chosen.seen != seen:
        words = "Stock or kits changed since this page was shown. Look again, then press"
        raise Refused([Reason("way", words)])
    with writing():
        made = Serving.objects.create(way=way, whole=chosen.whole, at_most=both.at_most, by=by)
        Turn.objects.bulk_create(
            Turn(serving=made, kit=one.kit, place=place) for place, one in enumerate(chosen.served)
        )
    return made
