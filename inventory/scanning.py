"""What a scanned or typed text means here: text -> readings (inventory.codes) -> a thing.

A value counts only if it names something we know exactly; nearness is a question, never an answer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from inventory.codes import own
from inventory.codes.answer import Reading, Refused
from inventory.codes.errors import CodeError
from inventory.codes.plain import Profile, compile_pattern
from inventory.codes.reading import CLAIMED_BY_NONE, read
from inventory.codes.serials import key as serial_key
from inventory.codes.serials import look_up_key
from inventory.models import Item, ItemCode, Lot, Place, Unit, UnitAlias
from inventory.near import near_names
from inventory.rows import Question, Slot, found


@dataclass(frozen=True, slots=True)
class Thing:
    """What a text was taken for."""

    kind: str
    # unit, box, lot, item, place, serial (of no unit we know), command or badge (of no thing at
    # all), unknown, none
    text: str = ""
    unit: Unit | None = None
    lot: Lot | None = None
    item: Item | None = None
    place: Place | None = None
    pack: int = 1  # base units one scan of a shared code stands for
    serial: str = ""  # kind serial: as printed
    lot_number: str = ""  # as printed
    expiry: str = ""  # ISO date, as printed
    question: str = ""  # kind command, badge, unknown: what a person should be told or asked
    fields: dict[str, Any] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """What to call it in a sentence."""
        named = self.unit or self.place or self.item
        if self.lot and self.lot.number:
            return f"{self.lot.item.name}, batch {self.lot.number}"
        if isinstance(named, Item):
            return named.name
        return str(named) if named else (self.text[:40] or "this")


NOTHING = Thing("none")
NOBODY = "Nobody here knows this code"
NEAR = ("near_miss", "case_suspect")  # refusals that ask for a name of ours
MOST_NEAR = 3  # names in one question
LOT_LABEL = own.PREFIX + own.KINDS["lot"]  # reels, opened packs and remnants carry it
UP = "parent__parent__parent__parent"  # all that a place stands in, in one statement
_WHOLE_UNIT = ("item", "lot", f"place__{UP}")
_WHOLE_ALIAS = tuple(f"unit__{name}" for name in _WHOLE_UNIT)
_UNITS = Unit.objects.select_related(*_WHOLE_UNIT)
_CODES = ItemCode.objects.select_related("item")
_PLACE = Question(lambda: Place.objects.select_related(UP).filter(pk=Slot(Place, "id")))
_ALIAS = Question(
    lambda: UnitAlias.objects.select_related(*_WHOLE_ALIAS).filter(pk=Slot(UnitAlias, "id"))
)
_UNIT = Question(lambda: _UNITS.filter(pk=Slot(Unit, "id")))
_UNIT_OF_ITEM = Question(
    lambda: _UNITS.filter(item=Slot(Unit, "item"), serial_key=Slot(Unit, "serial_key"))
)
_CODE = Question(lambda: _CODES.filter(pk=Slot(ItemCode, "id")))
_CODE_OF_ARTICLE = Question(lambda: _CODES.filter(key=Slot(ItemCode, "key"), label_pattern=False))
_NAMED = """\
SELECT 1 FROM inventory_unit WHERE serial_key = %s UNION ALL
SELECT 1 FROM inventory_lot WHERE "key" = %s LIMIT 1"""


def resolve(text: str, via: str = "keys", symbology: str = "") -> Thing:
    """Return what a text means here; kind `unknown` with a question where it means nothing.

    symbology: the kind of symbol it stood in, where a decoder says so (codes.symbology.NAMES).
    """
    if not text.strip():
        return NOTHING
    thing = _by_key(text, look_up_key(text))
    if thing is not None:
        return thing
    if own_kind := _NO_THING.get(_own_kind(text)):
        return Thing(own_kind, text=text, question=NO_THING[own_kind])
    answer = read(text, via, _Catalogue(via), {"symbology": symbology})
    if answer.refused is not None:
        return Thing("unknown", text=text, question=_question(text, answer.refused))
    things = [_by_fields(text, reading) for reading in answer.readings]
    meant = [thing for thing in things if thing is not None]
    meant = [thing for thing in meant if thing.kind in ("unit", "lot")] or meant
    if len({thing.item for thing in meant}) > 1:
        names = " or ".join(sorted(thing.item.name for thing in meant if thing.item))
        return Thing("unknown", text=text, question=f"Is this {names}? Scan the other code on it.")
    return meant[0] if meant else Thing("unknown", text=text, question=_nobody_knows(text))


def article_in(text: str, via: str = "keys") -> str:
    """Return the article number (14 digits) that stands in a text, known here or not; else ""."""
    readings = read(text, via, _Catalogue(via), {}).readings
    return next((str(one.fields["gtin"]) for one in readings if one.fields.get("gtin")), "")


NO_THING = {
    "command": "That is a line of the wall sheet, and moves nothing",
    "badge": "That is a badge, and moves nothing",
}
"""Labels of ours that are of no thing: kind of Thing -> what is said to who scans one as such."""
_NO_THING = {"command": "command", "person": "badge"}


def _own_kind(text: str) -> str:
    try:
        return own.parse(text.strip()).kind
    except CodeError:
        return ""


def _nobody_knows(text: str) -> str:
    return f"{NOBODY}: {text.strip()[:40]}."


def _question(text: str, refused: Refused) -> str:
    near = [one for one in refused.candidates if isinstance(one, str)][:MOST_NEAR]
    if refused.kind in NEAR and near:
        return (
            f"Nothing here is called {text.strip()[:40]}. Is it {' or '.join(near)}? Scan it again."
        )
    if refused.message.startswith(CLAIMED_BY_NONE):
        return _nobody_knows(text)
    words = refused.message.rstrip(".")
    return f"{words[:1].upper()}{words[1:]}."


class _Catalogue:
    """What `read` may ask; nothing is fetched until a plain text makes it ask."""

    def __init__(self, via: str) -> None:
        """via: how the text came; of what a decoder read nobody is asked what is near."""
        self.asked = via != "symbol"

    @property
    def profiles(self) -> tuple[Profile, ...]:
        """How suppliers' plain serials look; a profile bears the code of its item as its name."""
        codes = ItemCode.objects.filter(label_pattern=True).select_related("item").order_by("pk")
        return tuple(
            Profile(c.item.code, compile_pattern(c.text), c.symbology, c.item.code) for c in codes
        )

    def names(self, text: str) -> bool:
        """Whether a unit's serial or a batch reads exactly so: it hides no lost separator then."""
        wanted = _key(text)
        return bool(wanted) and bool(found(_NAMED, [wanted, wanted]))

    def near(self, text: str) -> tuple[str, ...]:
        """What a person may be asked: names of ours one slip away, never taken for the text."""
        return near_names(_key(text)) if self.asked else ()


def _by_key(text: str, short: str) -> Thing | None:
    if own.looks_own(short) and short.startswith(LOT_LABEL):
        lot = Lot.objects.filter(key=short).select_related("item").first()
        if lot is not None:
            return Thing("lot", text=text, item=lot.item, lot=lot, lot_number=lot.number)
    tables = _tables(short, _key(text))
    table, pk = tables[0] if tables else ("", 0)
    if table == "1 place":
        return Thing("place", text=text, place=_PLACE.ask(id=pk)[0])
    if table == "2 alias":
        alias = _ALIAS.ask(id=pk)[0]
        kind = "box" if alias.kind == UnitAlias.Kind.BOX else "unit"
        return Thing(kind, text=text, unit=alias.unit, item=alias.unit.item)
    if table == "3 code":
        code = _CODE.ask(id=pk)[0]
        return Thing("item", text=text, item=code.item, pack=code.pack_quantity)
    if table == "5 item":
        return Thing("item", text=text, item=Item.objects.get(pk=pk))
    if len({one for one in tables if one[0] == "4 unit"}) > 1:
        question = "Two things carry this serial. Scan the longer code beside it."
        return Thing("unknown", text=text, question=question)
    if table == "4 unit":
        unit = _UNIT.ask(id=pk)[0]
        return Thing("unit", text=text, unit=unit, item=unit.item)
    return None


# By hand: every scan begins with it, and building it from five querysets took 25 times as long as
# asking it. An item's code is typed, or chosen from a list.
_WHERE_A_KEY = """\
SELECT '1 place', id FROM inventory_place WHERE code = %s
UNION ALL SELECT '2 alias', id FROM inventory_unitalias WHERE "key" = %s
UNION ALL SELECT '3 code', id FROM inventory_itemcode WHERE "key" = %s AND NOT label_pattern
UNION ALL SELECT '5 item', id FROM inventory_item WHERE code = %s
UNION ALL SELECT '4 unit', id FROM inventory_unit WHERE serial_key IN (%s, %s)
"""


def _tables(short: str, serial: str) -> list[tuple[str, int]]:
    """Return where a text is a key, first table first: five tables asked in one statement."""
    return sorted(found(_WHERE_A_KEY, [short] * 5 + [serial or short]))


def meaning_themselves(items: Iterable[Item]) -> set[int]:
    """Return the ids of those items whose code, typed or scanned, means them, one of it.

    What `resolve` says of each, for a sheet of many: five questions, not two for each.
    """
    codes = {item.pk: item.code for item in items}
    short = {pk: look_up_key(code) for pk, code in codes.items()}
    keys = {*short.values(), *filter(None, map(_key, codes.values()))}
    places = set(Place.objects.filter(code__in=keys).values_list("code", flat=True))
    aliases = set(UnitAlias.objects.filter(key__in=keys).values_list("key", flat=True))
    units = set(Unit.objects.filter(serial_key__in=keys).values_list("serial_key", flat=True))
    rows = ItemCode.objects.filter(key__in=keys, label_pattern=False)
    printed = rows.values_list("key", "item", "pack_quantity")
    means = {key: (item, pack) for key, item, pack in printed}
    found = set()
    for pk, code in codes.items():
        key = short[pk]
        if own.looks_own(key) or key != code:  # rare: not what the tables below are asked by
            thing = resolve(code)
            own_way = thing.kind == "item" and thing.item is not None and thing.item.pk == pk
            found |= {pk} if own_way and thing.pack == 1 else set()
        elif key in places or key in aliases:
            continue
        elif key in means:
            found |= {pk} if means[key] == (pk, 1) else set()
        elif not units & {key, _key(code)}:
            found.add(pk)
    return found


def _by_fields(text: str, reading: Reading) -> Thing | None:
    fields = dict(reading.fields)
    code = _item_code(reading)
    if code is None:
        return None
    item = code.item
    serial, number = str(fields.get("serial") or ""), str(fields.get("lot") or "")
    if serial and item.tracking == "serial":
        if not _key(serial):
            return Thing("unknown", text=text, item=item, question="Type its serial by hand.")
        unit = _UNIT_OF_ITEM.one(item=item.pk, serial_key=_key(serial))
        if unit is None:
            return Thing("serial", text=text, item=item, serial=serial, fields=fields)
        return Thing("unit", text=text, unit=unit, item=item, fields=fields)
    expiry = str(fields.get("expiry") or "")
    if number:
        lot = item.lots.filter(key=_key(number) or None).select_related("item").first()
        return Thing(
            "lot" if lot else "item",
            text=text,
            item=item,
            lot=lot,
            pack=code.pack_quantity,
            lot_number=number,
            expiry=expiry,
            fields=fields,
        )
    return Thing("item", text=text, item=item, pack=code.pack_quantity, fields=fields)


def _key(text: str) -> str:
    """Return the normal form of a serial or batch number, "" for a text that has none."""
    try:
        return serial_key(text)
    except CodeError:
        return ""


def _item_code(reading: Reading) -> ItemCode | None:
    """Return the code that names the item: its article number, or the profile of its label."""
    if gtin := reading.fields.get("gtin"):
        return _CODE_OF_ARTICLE.one(key=gtin)
    codes = ItemCode.objects.select_related("item").order_by("pk")
    labels = [warning.removeprefix("label:") for warning in reading.warnings]
    return codes.filter(item__code__in=labels, label_pattern=True).first()
