"""Families as stored: editions go in once and stay, their items enter the catalogue."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from django.utils import timezone

from inventory import catalogue
from inventory.lock import writing
from inventory.models import CartonContent, Item, ItemCode, Person
from inventory.words import counted
from kitting.models import FamilyEdition
from kitting.plan import proof
from kitting.plan.family import Family, parse
from kitting.plan.items import FamilyItem
from kitting.plan.proof import Found

OPEN: Final = ("unmet",)
"""Faults that a trial may have: what nothing meets is asked on each kit."""
KEPT: Final = ("name", "edition", "status", "text", "sha256", "loaded_at")
"""Columns of a stored edition that the database lets nobody change."""


class EditionError(ValueError):
    """An edition that cannot be stored; the message says what was expected and what came."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a load did."""

    edition: FamilyEdition
    fresh: bool  # False: this very text was stored before and nothing changed
    items_made: int
    warnings: tuple[str, ...]


class Unproven(EditionError):
    """An edition that leaves needs of some stack open, or meets them twice."""

    def __init__(
        self, where: str, faults: Sequence[Found], example: Mapping[str, object] | None
    ) -> None:
        self.faults, self.example = tuple(faults), example
        told = "\n".join(f"{fault.kind}: {fault.message}" for fault in faults)
        got = counted(len(faults), "fault")
        super().__init__(f"{where}: expected each need met once, got {got}\n{told}")


def admit(text: str, where: str) -> Loaded:
    """Prove an edition over every legal configuration, then store it.

    A released one has no fault; a trial only needs that nothing meets, which a person signs on
    each kit. Raises FamilyError, Unproven, EditionError; then nothing is stored.
    """
    family = parse(text, where)
    found = proof.check(family).faults
    wrong = [f for f in found if family.status == "released" or f.kind not in OPEN]
    if wrong:
        smallest = min(wrong, key=proof.Found.weight)
        raise Unproven(where, wrong, smallest.example)
    return load(text, where)


def load(text: str, where: str) -> Loaded:
    """Store an edition and its items, unproven. Raises FamilyError (every fault) or EditionError.

    The first edition of a family is current at once, a later one when a manager says so.
    where: the file's name, for messages.
    """
    family = parse(text, where)
    with writing():
        return _store(family, text, where)


def _store(family: Family, text: str, where: str) -> Loaded:
    sha256 = hashlib.sha256(text.encode()).hexdigest()
    made = sum(_enter(item) for item in family.items.values())
    warnings = (
        (f"{family.name} of {family.edition} is a trial: its kits are to be checked by a person.",)
        if family.status == "trial"
        else ()
    )
    known = FamilyEdition.objects.filter(name=family.name, edition=family.edition).first()
    if known is not None and known.sha256 != sha256:
        raise EditionError(
            f"{where}: edition: expected a later date than {family.edition}, which is stored with "
            f"other text (SHA-256 {known.sha256[:12]}), got SHA-256 {sha256[:12]}"
        )
    if known is not None:
        return Loaded(known, False, made, warnings)
    edition = FamilyEdition(
        name=family.name,
        edition=family.edition,
        status=family.status,
        text=text,
        sha256=sha256,
    )
    edition.save()
    if current(family.name) is None:
        make_current(edition)
    return Loaded(edition, True, made, warnings)


def make_current(edition: FamilyEdition, by: Person | None = None) -> None:
    """From now on kits are worked out with this edition; what its boxes bring counts too.

    by: the manager who says so; None for the first edition of a family.
    """
    now = timezone.now()
    family = family_of(edition)
    with writing():
        FamilyEdition.objects.filter(pk=edition.pk).update(current_from=now, made_current_by=by)
        for item in family.items.values():
            catalogue.follow_list(item.code, name=item.name, mass_g=item.mass_g, by=by)
        _enter_boxes(family)
    edition.current_from, edition.made_current_by = now, by


def current(name: str) -> FamilyEdition | None:
    """Return the edition of a family that was made current last, None where none is loaded."""
    editions = FamilyEdition.objects.filter(name=name, current_from__isnull=False)
    return editions.order_by("-current_from", "-edition").first()


def in_use(editions: Iterable[FamilyEdition]) -> set[int]:
    """Return the ids of those that are the current one of their family."""
    latest: dict[str, FamilyEdition] = {}
    for edition in editions:
        if edition.current_from is not None:
            held = latest.setdefault(edition.name, edition)
            if held.current_from is not None and held.current_from < edition.current_from:
                latest[edition.name] = edition
    return {edition.pk for edition in latest.values()}


def title_of(edition: FamilyEdition) -> str:
    """Return what people call the stack system, without reading the whole list."""
    found = re.search(r'^\[family\][^[]*?^title *= *(".*")', edition.text, re.M)
    return str(json.loads(found[1])) if found else edition.name


def family_of(edition: FamilyEdition) -> Family:
    """Return the family as read from a stored edition."""
    return _read(edition.sha256, edition.text, str(edition))


@lru_cache(maxsize=16)
def _read(sha256: str, text: str, where: str) -> Family:
    return parse(text, where)


def is_battery(item: Item) -> bool:
    """Whether the parts list in use of some family says that an item is a battery on the road."""
    return any(told.battery for told in _told(item))


def is_renewed(item: Item) -> bool:
    """Whether an item is renewed each time its joint is opened or its pack was begun."""
    return any(told.renew for told in _told(item))


def _told(item: Item) -> list[FamilyItem]:
    """What the parts lists in use say of an item."""
    names = FamilyEdition.objects.filter(current_from__isnull=False).values_list("name", flat=True)
    editions = [current(name) for name in names.distinct().order_by("name")]
    lists = [family_of(edition).items for edition in editions if edition is not None]
    return [items[item.code] for items in lists if item.code in items]


def _enter(wanted: FamilyItem) -> int:
    """Enter an item of the family; 1 if it was not in the catalogue."""
    values: dict[str, Any] = {
        "name": wanted.name,
        "tracking": wanted.tracking,
        "unit": wanted.unit,
        "mass_g": wanted.mass_g,
    }
    item, fresh = Item.objects.get_or_create(code=wanted.code, defaults=values)
    # Tracking and base unit are fixed for ever: stock was booked in them.
    if (item.tracking, item.unit) != (wanted.tracking, wanted.unit):
        raise EditionError(
            f"item {wanted.code}: expected {item.tracking} in {item.unit} as in the catalogue, "
            f"got {wanted.tracking} in {wanted.unit}"
        )
    if wanted.gtin:
        text = {"item": item, "text": wanted.gtin, "pack_quantity": wanted.pack}
        ItemCode.objects.get_or_create(key=wanted.gtin, defaults=text)
    return int(fresh)


def _enter_boxes(family: Family) -> None:
    """What the edition says comes in each box, dated as the edition is; 0 of what no longer does"""
    items = Item.objects.in_bulk(list(family.items), field_name="code")
    told = {
        (box.code, content): quantity
        for box in family.items.values()
        for content, quantity in box.carton.items()
    }
    before = CartonContent.objects.filter(box_of__in=items.values(), since__lt=family.edition)
    gone = set(before.values_list("box_of__code", "item__code")) - told.keys()
    for (box, content), quantity in (told | dict.fromkeys(gone, 0)).items():
        CartonContent.objects.get_or_create(
            box_of=items[box],
            item=items.get(content) or Item.objects.get(code=content),
            since=family.edition,
            defaults={"quantity": quantity},
        )
