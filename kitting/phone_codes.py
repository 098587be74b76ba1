"""What a technician's phone can say of a code without signal: tables made here beforehand.

Every spelling of every code that the own jobs, their parcels and vans can meet, each with what it
is, where it travels and which job it is for. Of other crews' jobs only the hashes of their codes:
that a scanned code is another's, and nothing of whose or what.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.db.models import Q, QuerySet

from inventory.codes import spellings
from inventory.models import Hold, Holding, Item, ItemCode, Person, Place, PlaceKind, Scan, Unit
from inventory.queries import within
from inventory.templatetags.amounts import where
from inventory.words import measure
from kitting.models import Kit
from kitting.progress import fold, places_of
from kitting.queries import stands_at

DAYS = 14  # from today: jobs whose things may lie beside each other
MOST_OTHERS = 200  # kits of other crews, the latest
MOST_LEARNT = 400  # scans that are looked at for how makers' labels read
AROUND = "place__parent__parent__parent__parent"
NO_JOB = -1
NOT_YET, LOADED, SEEN, FITTED, ASIDE = range(5)
"""How far a thing has come; the phone holds a step against it."""
UNCLEAR = -1  # the number of a thing that nobody can tell: two things carry the key


def tables_of(person: Person, today: date) -> dict[str, Any]:
    """Return the tables of one technician: {version, person, jobs, items, things, unclear, others}.

    jobs: {code, subject, counts: item number -> [needed, seen at the site, words, where]}; a thing:
    [kind, item number or null, words, where, number of its job or -1, state 0 to 4, keys]; others:
    hashed keys.
    """
    made = _Making(_codes(), _learnt())
    own = kits_of(person, today)
    for number, kit in enumerate(own):
        made.kit(number, kit)
    for van in {kit.job.van for kit in own if kit.job.van}:
        made.van(van)
    others = made.strangers(_others(person, today))
    hashes = sorted(hashed(key, person) for key in others - made.keys.keys())
    body = made.as_json() | {"person": str(person.uid), "others": hashes}
    text = json.dumps(body, sort_keys=True, separators=(",", ":"))
    return {"version": hashlib.sha256(text.encode()).hexdigest()[:16]} | body


def kits_of(person: Person, today: date) -> list[Kit]:
    """Return the released kits of a technician's own open jobs of these days, the next first."""
    kits = _open().filter(job__crew=person, job__date__lte=today + timedelta(days=DAYS))
    latest = {kit.job_id: kit for kit in kits.order_by("revision")}
    return sorted(latest.values(), key=lambda kit: (kit.job.date, kit.job.code))


def _open() -> QuerySet[Kit]:
    kits = Kit.objects.filter(released_at__isnull=False, closed_by=None, job__cancelled_at=None)
    return kits.select_related("job__site__place", "job__van")


def _others(person: Person, today: date) -> list[Kit]:
    kits = _open().filter(job__date__lte=today + timedelta(days=DAYS)).exclude(job__crew=person)
    return list(kits.order_by("-job__date", "-pk")[:MOST_OTHERS])


def hashed(key: str, person: Person) -> str:
    """Return what stands for another's key in this person's tables: 12 hexadecimal digits."""
    return hashlib.sha256(f"{person.uid} {key}".encode()).hexdigest()[:12]


def _codes() -> dict[int, list[str]]:
    """Item's id -> what its codes say, patterns of makers' labels apart."""
    found: dict[int, list[str]] = defaultdict(list)
    rows = ItemCode.objects.filter(label_pattern=False).order_by("pk")
    for item, key in rows.values_list("item_id", "key"):
        found[item].append(key)
    return found


def _learnt() -> dict[int, set[str]]:
    """Item's id -> how labels of its units read, by what was scanned of late."""
    rows = Scan.objects.filter(read_as="unit", unit__isnull=False).order_by("-pk")
    found: dict[int, set[str]] = defaultdict(set)
    names = ("unit__item_id", "text", "unit__serial")
    for item, text, serial in rows.values_list(*names)[:MOST_LEARNT]:
        found[item].add(spellings.pattern(text, serial))
    return {item: patterns - {""} for item, patterns in found.items()}


@dataclass
class _Making:
    """Tables in the making; `keys` leads to the number of a thing, or to no thing of ours."""

    codes: dict[int, list[str]]  # item's id -> what its codes say
    learnt: dict[int, set[str]]
    jobs: list[dict[str, Any]] = field(default_factory=list)
    items: dict[str, int] = field(default_factory=dict)  # name -> its number
    things: list[list[Any]] = field(default_factory=list)
    keys: dict[str, int] = field(default_factory=dict)
    units: set[int] = field(default_factory=set)  # ids of those that are entered
    aside: set[int] = field(default_factory=set)  # ids of those that are set aside

    def kit(self, number: int, kit: Kit) -> None:
        """Enter a kit's units, parcels, bags, boxes, and the items of its lines."""
        places, site = places_of(kit), kit.job.site.place
        stands = {row.unit_id: row for row in stands_at(site) if row.unit_id}
        held = _held_places(places)
        for unit in self._new(Q(place__in=[*places, site]) | Q(pk__in=stands)):
            row = stands.get(unit.pk)
            around = f"stack {row.stack}, place {row.level}" if row else where(unit.place)
            state = FITTED if row else _state(unit.place)
            self._unit(unit, around, number, state)
        for place in places:
            kind = "box" if place.kind == PlaceKind.CARTON else "package"
            state = ASIDE if place.pk in held else _state(place)
            around = where(place.parent) if place.parent else ""
            self._add([kind, None, place.name, around, number, state], {place.code}, new=True)
        self.jobs.append(
            {"code": kit.job.code, "subject": kit.subject, "counts": self._counts(kit, places)}
        )

    def _counts(self, kit: Kit, places: list[Place]) -> dict[int, list[Any]]:
        holdings = Holding.objects.filter(place__in=places, quantity__gt=0)
        spots = dict(holdings.order_by("-pk").values_list("lot__item", "place"))
        named = {place.pk: where(place) for place in places}
        counts = {}
        for total in fold(kit).totals.values():
            item = total.item
            words = measure(total.needed, item.unit)
            around = named.get(spots.get(item.pk, 0), "")
            counts[self._item(item)] = [total.needed, total.seen, words, around]
        return counts

    def van(self, van: Place) -> None:
        """Enter a van and what it carries for no job: that may stand in for what is missing."""
        self._add(["place", None, van.name, "", NO_JOB, NOT_YET], {van.code}, new=True)
        free = [place for place in within([van]) if not any(p.subject for p in place.way_up())]
        for unit in self._new(Q(place__in=free)):
            self._unit(unit, where(unit.place), NO_JOB, _state(unit.place))

    def strangers(self, kits: list[Kit]) -> set[str]:
        """Return the keys of these kits' things."""
        subjects = [kit.subject for kit in kits]
        ours = Q(subject__in=subjects) | Q(parent__subject__in=subjects)
        places = Place.objects.filter(ours).order_by()
        keys = {key for code in places.values_list("code", flat=True) for key in _text(code)}
        sites = [kit.job.site.place_id for kit in kits]
        units = Unit.objects.filter(Q(place__in=places) | Q(place__in=sites))
        for unit in units.select_related("lot").prefetch_related("aliases"):
            keys.update(*self._keys_of(unit))
        return keys

    def as_json(self) -> dict[str, Any]:
        """Keys stand beside the thing they lead to, so that the whole presses well."""
        keys: dict[int, list[str]] = defaultdict(list)
        for key, number in sorted(self.keys.items()):
            keys[number].append(key)
        things = [[*thing, keys[number]] for number, thing in enumerate(self.things)]
        body = {"jobs": self.jobs, "items": list(self.items), "things": things}
        return body | {"unclear": keys[UNCLEAR]}

    def _item(self, item: Item) -> int:
        """The number of an item; the first time its codes are entered."""
        if item.name not in self.items:
            self.items[item.name] = len(self.items)
            keys = {key for code in self.codes[item.pk] for key in spellings.of_article(code)}
            thing = ["item", self.items[item.name], "", "", NO_JOB, NOT_YET]
            self._add(thing, keys | {item.code}, new=True)
        return self.items[item.name]

    def _new(self, wanted: Q) -> list[Unit]:
        """Units not entered yet; their box, batch and hold are looked up together."""
        units = Unit.objects.filter(wanted).exclude(pk__in=self.units)
        found = list(
            units.select_related("item", "lot", AROUND)
            .prefetch_related("aliases")
            .order_by("item__code", "pk")
        )
        self.units |= {unit.pk for unit in found}
        held = Hold.objects.filter(Q(unit__in=found) | Q(lot__units__in=found), release=None)
        for hold in held:
            self.aside |= {unit.pk for unit in found if hold.unit_id == unit.pk}
            self.aside |= {unit.pk for unit in found if hold.lot_id == unit.lot_id}
        return found

    def _unit(self, unit: Unit, around: str, number: int, state: int) -> None:
        state = ASIDE if unit.pk in self.aside else state
        about = [self._item(unit.item), unit.serial, around, number, state]
        own, box = self._keys_of(unit)
        self._add(["unit", *about], own)
        if unit.place and unit.place.kind == PlaceKind.CARTON:
            box.add(unit.place.code)
        if box:
            self._add(["box", *about], box, new=True)

    def _keys_of(self, unit: Unit) -> tuple[set[str], set[str]]:
        """The keys of a unit's own label, reported serial and other names; those of its box."""
        articles = [code for code in self.codes[unit.item_id] if code.isdigit()]
        patterns = self.learnt.get(unit.item_id, ())
        own = spellings.of_unit(unit.serial, articles, unit.lot.number, unit.made_on, patterns)
        box: set[str] = set()
        for alias in unit.aliases.all():
            (box if alias.kind == "box" else own).update(_text(alias.text))
        return own, box - own

    def _add(self, thing: list[Any], texts: Iterable[str], new: bool = False) -> None:
        """Enter a thing. A key of two things names neither, but of a box or item the first."""
        number = len(self.things)
        self.things.append(thing)
        for key in {key for text in texts for key in _text(text)} | set(texts):
            if key in self.keys and not new:
                self.keys[key] = UNCLEAR
            else:
                self.keys.setdefault(key, number)


def _text(text: str) -> set[str]:
    return spellings.of_text(text)


def _held_places(places: list[Place]) -> set[int]:
    held = Hold.objects.filter(release=None, place__in=places)
    return set(held.values_list("place_id", flat=True))


def _state(place: Place | None) -> int:
    if place is None:
        return NOT_YET
    if place.within(PlaceKind.SITE):
        around = place.parent
        packed = around is not None and around.kind == PlaceKind.PARCEL
        return LOADED if packed or place.kind == PlaceKind.CARTON else SEEN
    return LOADED if place.within(PlaceKind.VAN) else NOT_YET
