"""Where a thing lies in its package: a fact of the family, or told once by whoever found it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory import photos
from inventory.intake import Act, Verdict
from inventory.ledger.line import Line
from inventory.models import Item, Person, Role
from inventory.moving import CannotMove, Writing
from inventory.subjects import Named
from kitting import families
from kitting.models import Kit, Whereabouts

PREFIX = "item"
"""A photo of where an item lies is about "item:<code>": every crew may see it."""


@dataclass(frozen=True, slots=True)
class Lies:
    """How a thing lies."""

    words: str = ""
    photo: str = ""  # sha256, "" for none
    by: str = ""  # who told it, "" for the family's own words


def tell(writes: Writing) -> Verdict:
    """Say in words ("reason"), by a photo, or both, where the scanned item lies.

    "with": the code of the item in whose box it lies.
    """
    thing, line = writes.thing, writes.line
    item = thing.item or (thing.unit.item if thing.unit else None)
    if item is None:
        raise CannotMove(thing.question.rstrip(".") or "Say what lies there")
    words = " ".join(line.reason.split())
    if not words and not line.photo:
        raise CannotMove("Say where it lies, or take a photo of it")
    box_of = Item.objects.filter(code=line.companion).first() if line.companion else None
    if line.companion and box_of is None:
        raise CannotMove(f"No item is called {line.companion[:40]}")
    Whereabouts.objects.create(
        event=writes.event, item=item, box_of=box_of, words=words, photo=line.photo
    )
    return Verdict("applied", f"{item.name}: everybody sees now where it lies.")


def told(kit: Kit, items: Iterable[int]) -> dict[tuple[int, int], Lies]:
    """Return (item id, id of the item in whose box or 0) -> how it lies.

    What somebody told counts before what the family says; words and photo each the latest.
    """
    found = _of_family(kit)
    rows = Whereabouts.objects.filter(item__in=list(items), event__reversed_by=None)
    rows = rows.select_related("event__person").order_by("pk")
    names = {row.photo for row in rows if row.photo}
    kept = photos.called(names) if names else {}
    shown = {name for name, photo in kept.items() if not photo.erased}
    for row in rows:
        where = row.item_id, row.box_of_id or 0
        before = found.get(where, Lies())
        photo = row.photo if row.photo in shown else before.photo
        found[where] = Lies(row.words or before.words, photo, row.event.person.name)
    return found


def _of_family(kit: Kit) -> dict[tuple[int, int], Lies]:
    named = {
        (code, box.code): words
        for box in families.family_of(kit.edition).items.values()
        for code, words in box.lies.items()
    }
    codes = {code for pair in named for code in pair}
    ids = dict(Item.objects.filter(code__in=codes).values_list("code", "pk")) if codes else {}
    return {
        (ids[item], ids[box]): Lies(words)
        for (item, box), words in named.items()
        if item in ids and box in ids
    }


def _allow(person: Person, line: Line) -> str:
    prefix, _, code = line.subject.partition(":")
    known = prefix == PREFIX and Item.objects.filter(code=code).exists()
    return "" if known else "Say which item this is about"


def may_see(person: Person, code: str) -> bool:
    """Whether the person may see a photo of where an item lies: whoever works here."""
    return person.has(*Role.values)


def names(codes: Iterable[str]) -> dict[str, Named]:
    """Say how pages of the lower house show items; only the desk can open them."""
    return {}


SHOW_WHERE = Act("show_where", frozenset(Role.values), tell, allow=_allow)
