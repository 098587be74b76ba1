"""New places with labels of ours: bins and vans, sites, what kits travel in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import count
from typing import Any

from inventory import rows
from inventory.amending import amended
from inventory.codes import own
from inventory.lock import writing
from inventory.models import Holding, Person, Place, PlaceKind
from inventory.models.places import OWN_KINDS

AT_ONCE = 20  # codes fetched at a time: the first is mostly the one
WARMTH = "warmth"  # how amendments name it
HOLDS = "{}: expected an empty place, got one that holds something"
_LABEL_OF = {
    PlaceKind.VAN: "van",
    PlaceKind.CARTON: "carton",
    PlaceKind.PARCEL: "parcel",
    PlaceKind.BAG: "bag",
}


def make(
    kind: str,
    name: str,
    *,
    parent: Place | None = None,
    subject: str = "",
    order: int = 0,
    time_zone: str = "",
    purpose: str = "",
    code: str = "",
) -> Place:
    """Enter a new place under the next free label code of its kind, or under one it bears."""
    with writing():
        return Place.objects.create(
            kind=kind,
            code=code or next_code(_LABEL_OF.get(PlaceKind(kind), "place")),
            name=name[:120],
            parent=parent,
            subject=subject,
            order=order,
            time_zone=time_zone,
            purpose=purpose,
        )


def make_many(places: Sequence[Place]) -> None:
    """Enter new places in their order, those around others first; "" as code: the next free one."""
    with writing():
        labels: dict[str, Iterator[str]] = {}
        given = {place.code for place in places}
        for place in places:
            if not place.code:
                label = _LABEL_OF.get(PlaceKind(place.kind), "place")
                codes = labels.setdefault(label, _next_codes(label))
                place.code = next(code for code in codes if code not in given)
        left = list(places)
        while left:
            outer = [place for place in left if not place.parent or place.parent.pk]
            left = [place for place in left if place.parent and place.parent.pk is None]
            for place in outer:
                place.parent = place.parent  # its id is known by now
            rows.add_many(outer)


def _next_codes(label: str) -> Iterator[str]:
    first = next_code(label)
    yield first
    for number in count(own.parse(first).number + 1):
        yield own.make(label, number)


def holds_something(place: Place) -> bool:
    """Whether anything lies or stands in a place, or in one inside it."""
    if place.units.exists() or Holding.objects.filter(place=place, quantity__gt=0).exists():
        return True
    return any(holds_something(inside) for inside in place.children.all())


def rearrange(place: Place, by: Person, **now: Any) -> None:
    """Give a place another `name`, `order` in the walk, `time_zone`; where it stands it stays.

    `purpose` and `in_use` change only while nothing is there: raises ValueError.
    """
    now["name"] = now["name"][:120]
    with writing():
        there = Place.objects.filter(pk=place.pk)
        was = there.values(*now).get()
        if any(was[name] != now[name] for name in ("purpose", "in_use") if name in now):
            _must_be_empty(place)
        amended(by, f"place:{place.code}", was, now)
        there.update(**now)


def _must_be_empty(place: Place) -> None:
    if holds_something(place):
        raise ValueError(HOLDS.format(place.name))
    inside = place.children.filter(kind__in=OWN_KINDS, subject="", in_use=True).first()
    if inside is not None:
        raise ValueError(f"{place.name}: expected nothing in use inside, got {inside.name}")


def stand(place: Place, parent: Place, name: str) -> None:
    """Stand an empty place elsewhere under another name. What holds something moves by a scan."""
    with writing():
        if holds_something(place):
            raise ValueError(HOLDS.format(place.name))
        place.parent, place.name = parent, name[:120]
        place.save(update_fields=["parent", "name"])


def set_warmth(place: Place, warmest_c: int | None, by: Person | None = None) -> None:
    """Say how warm it gets at a place at most, in degrees Celsius; None: nobody knows.

    by: None where a command sets the firm up.
    """
    with writing():
        place.refresh_from_db(fields=["warmest_c"])
        was, now = {"warmest_c": place.warmest_c}, {"warmest_c": warmest_c}
        amended(by, f"{WARMTH}:{place.code}", was, now)
        place.warmest_c = warmest_c
        place.save(update_fields=["warmest_c"])


def next_code(label: str) -> str:
    """Return the label code after the highest of this kind; hold the ledger's lock meanwhile."""
    stem = own.PREFIX + own.KINDS[label]
    # Below a site stand places named after it, which are no labels of ours.
    taken = Place.objects.filter(code__startswith=stem).exclude(code__contains="-")
    codes = taken.order_by("-code").values_list("code", flat=True)
    return own.make_next(label, codes.iterator(AT_ONCE))
