"""A photo of many labels held against what should be there: found, not found, not expected.

Only things that exist once count. Labels that are alike, those of an item or a batch, are read as
one by any decoder that sees two of them, so they are named and never counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from django.core.files.uploadedfile import UploadedFile

from inventory import photos
from inventory.arrivals import compared
from inventory.codes.serials import look_up_key
from inventory.models import Delivery, Person, Photo, Place, PlaceKind, Unit
from inventory.pictures.accepting import Code
from inventory.pictures.reading import Tell
from inventory.scanning import Thing, resolve

MOVING = (PlaceKind.CARTON, PlaceKind.PARCEL, PlaceKind.BAG)
SHARED = frozenset({"item", "lot"})  # kinds of thing whose labels are alike
LONGEST_SHOWN = 80  # characters of a text that nobody knows

Name = tuple[str, object]
"""What a label can name: ("box", look-up key), ("unit", row id), ("place", row id),
("serial", (item's row id, normal form))."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """One thing that should be there."""

    words: str
    code: str  # as people read it
    names: frozenset[Name]  # any of these on a label is it
    scan: str = ""  # what is scanned for it, where not the label itself


@dataclass(frozen=True, slots=True)
class Seen:
    """One label on the photo."""

    text: str  # what its scan would be
    words: str
    box: tuple[int, int, int, int]  # x, y, width, height in px of the photo
    where: str = ""  # by the book, where it is not expected here


@dataclass(frozen=True, slots=True)
class Ring:
    """A label that was seen and not read, as drawn on the photo; px of it."""

    box: tuple[int, int, int, int]  # x, y, width, height
    middle: tuple[int, int]
    half: tuple[int, int]  # width and height


@dataclass(slots=True)
class Held:
    """A photo beside what was expected."""

    photo: Photo
    size: tuple[int, int]  # px
    found: list[Seen] = field(default_factory=list)  # expected, each thing once
    missing: list[Wanted] = field(default_factory=list)
    others: list[Seen] = field(default_factory=list)  # ours, not expected here
    alike: list[Seen] = field(default_factory=list)  # labels of items and batches: not counted
    strange: list[Seen] = field(default_factory=list)  # read, and nothing we know
    unread: list[Ring] = field(default_factory=list)  # seen, not read

    @property
    def letters(self) -> int:
        """Height of the numbers on it, in its px."""
        return self.size[0] // 50

    @property
    def expected(self) -> int:
        """How many things should be on it."""
        return len(self.found) + len(self.missing)


def of_delivery(delivery: Delivery) -> list[Wanted]:
    """What the supplier's serial file names and has not come yet, in its order."""
    wanted = []
    for line in compared(delivery).not_come:
        names: set[Name] = {("serial", (line.item_id, line.key))}
        if line.box:
            names.add(("box", line.box))
        wanted.append(Wanted(line.item.name, line.box or line.serial, frozenset(names)))
    return wanted


def at_place(place: Place) -> list[Wanted]:
    """What the book has at the place that has a label of its own: boxes, parcels, bags, things."""
    boxes = [
        Wanted(box.name, box.code, frozenset({("place", box.pk), *_inside(box)}), box.code)
        for box in place.children.filter(kind__in=MOVING).order_by("code")
    ]
    units = Unit.objects.filter(place=place).select_related("item").order_by("item", "serial_key")
    loose = [Wanted(u.item.name, u.serial, frozenset({("unit", u.pk)})) for u in units]
    return boxes + loose


def _inside(box: Place) -> set[Name]:
    """The one thing in a box: its serial outside on the box is as good as the box's own code."""
    units = list(box.units.values_list("pk", flat=True)[:2])
    return {("unit", units[0])} if len(units) == 1 else set()


def read(
    person: Person,
    upload: UploadedFile[bytes],
    most: int,
    wanted: Sequence[Wanted],
    subject: str = "",
    tell: Tell | None = None,
) -> Held:
    """Read every label of a photo, keep it privately and hold it against what is wanted.

    Raises PhotoRefused. most: bytes. tell: gets the progress as it comes.
    """
    by_name = {name: one for one in wanted for name in one.names}

    def known(text: str, symbology: str) -> str | None:
        named = any(name in by_name for name in _names(text, resolve(text, "symbol")))
        return look_up_key(text) if named else photos.known(text, symbology)

    answer = photos.read_all(upload, most, known, tell)
    if answer.refused is not None:
        raise answer.refused
    held = Held(photos.keep(person, answer.stored, subject), answer.size)
    held.unread = [_ring(one.box) for one in answer.unread]
    _sort(held, answer.codes, by_name)
    taken = {seen.words for seen in held.found}
    held.missing = [one for one in wanted if _words(one) not in taken]
    return held


def _sort(held: Held, codes: Iterable[Code], by_name: dict[Name, Wanted]) -> None:
    """Put each code where it belongs; a thing whose two codes were read is one thing."""
    met: set[object] = set()
    for code in codes:
        thing = resolve(code.text, "symbol")
        names = _names(code.text, thing)
        wanted = next((by_name[name] for name in names if name in by_name), None)
        mark: object = wanted or (names[-1] if names else code.text)
        words = _words(wanted) if wanted else thing.name
        seen = Seen(
            wanted.scan or code.text if wanted else _scan(code.text, thing), words, code.box
        )
        if mark in met:
            continue
        met.add(mark)
        # The label of the shelf itself is on most photos of it: it is no thing that stands there.
        if not code.accepted:
            held.strange.append(Seen(code.text[:LONGEST_SHOWN], code.why, code.box))
        elif wanted:
            held.found.append(seen)
        elif thing.kind in SHARED:
            held.alike.append(seen)
        elif thing.place is None or thing.place.kind in MOVING:
            held.others.append(replace(seen, where=_where(thing)))


def _ring(box: tuple[int, int, int, int]) -> Ring:
    x, y, width, height = box
    return Ring(box, (x + width // 2, y + height // 2), (width // 2, height // 2))


def _scan(text: str, thing: Thing) -> str:
    """The label of a thing in a box stands for the box: nobody has opened it."""
    box = thing.unit.place if thing.unit else None
    return box.code if box is not None and box.kind == PlaceKind.CARTON else text


def _where(thing: Thing) -> str:
    place = thing.unit.place if thing.unit else thing.place and thing.place.parent
    return place.name if place else ""


def _words(wanted: Wanted) -> str:
    return f"{wanted.words} {wanted.code}"


def _names(text: str, thing: Thing) -> list[Name]:
    """All that the label names, the plainest last."""
    names: list[Name] = [("box", look_up_key(text))]
    if thing.unit is not None:
        names += [("serial", (thing.unit.item_id, thing.unit.serial_key)), ("unit", thing.unit.pk)]
    if thing.kind == "serial" and thing.item is not None:
        names.append(("serial", (thing.item.pk, look_up_key(thing.serial))))
    if thing.place is not None:
        names.append(("place", thing.place.pk))
    return names
