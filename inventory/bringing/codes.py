"""Article numbers and bag codes brought in: which printed text means which item."""

from __future__ import annotations

from collections.abc import Sequence

from inventory import catalogue
from inventory.bringing.finding import Items
from inventory.bringing.kinds import Asked, Data, Found, Kind, once_each
from inventory.codes import gtin, spoilt
from inventory.codes.serials import look_up_key
from inventory.incoming.columns import Cells, Column
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, as_printed, shown
from inventory.models import Item, ItemCode, Person, Place, UnitAlias
from inventory.moving import CannotMove, Writing

COLUMNS = (
    Column("item", "our code of the item", ("item code", "Artikel"), True),
    Column("code", "the text as printed or scanned", ("article number", "EAN", "GTIN"), True),
    Column("quantity", "base units one scan stands for; empty: 1", ("pack", "Menge")),
)
LONGEST = 120


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row: a text means one item only."""
    items = Items()
    known = {code.key: code for code in ItemCode.objects.select_related("item")}
    taken = set(Place.objects.values_list("code", flat=True))
    taken |= set(UnitAlias.objects.values_list("key", flat=True))
    found, keys = [], []
    for cells in rows:
        asked = Asked(cells)
        item = asked.read("item", lambda cell: _item(items, cell), None)
        text = asked.read("code", _printed, "")
        key = look_up_key(text)
        pack = asked.read("quantity", lambda cell: _pack(numbers, cell), 1)
        if key in taken:
            asked.wrong("code", f"expected a text of no other thing, got {text[:40]!r}")
        there = known.get(key)
        if there is not None and item is not None:
            _compare(asked, there, item, pack)
        data = {"item": item.code if item else "", "text": text, "pack": pack}
        about = f"{text} = {pack} x {item.code}" if item else text
        found.append(asked.found(about, data, known=there is not None))
        keys.append(key or None)
    return once_each(found, keys, "code")


def _item(items: Items, cell: Cell) -> Item | None:
    return items.named(cell)


def _pack(numbers: Numbers, cell: Cell) -> int:
    return 1 if cell is None else numbers.whole(cell, 1, 1_000_000_000)


def _compare(asked: Asked, there: ItemCode, item: Item, pack: int) -> None:
    if there.item_id != item.pk:
        words = f"expected a text of no other item, got that of {there.item.code}"
        asked.wrong("code", words)
    elif there.label_pattern:
        asked.wrong("code", "expected a text, got the pattern of a label")
    elif asked.given("quantity"):
        asked.differs("quantity", there.pack_quantity, pack)


def _printed(cell: Cell) -> str:
    """A text as printed. A number is taken where its check digit shows that nothing is lost."""
    if isinstance(cell, int) and not isinstance(cell, bool) and gtin.is_valid(str(cell)):
        return str(cell)
    found = as_printed(cell, "code").strip()
    if not found or len(found) > LONGEST or not found.isprintable():
        raise Wrong(f"expected a printed text of at most {LONGEST} characters, got {shown(cell)}")
    spoiled = spoilt.spoilt(found)
    if spoiled:
        raise Wrong(f"expected the code as printed, got {spoiled} {shown(cell)}")
    if (
        found.isascii()
        and found.isdigit()
        and len(found) in gtin.LENGTHS
        and not gtin.is_valid(found)
    ):
        raise Wrong(f"expected an article number with its check digit, got {shown(cell)}")
    return found


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Let each text mean its item. Raises CannotMove where it means another by now."""
    known = {code.key: code for code in ItemCode.objects.select_related("item")}
    items = {item.code: item for item in Item.objects.all()}
    fresh = []
    for row in rows:
        there, item = known.get(look_up_key(row["text"])), items.get(row["item"])
        if item is None or (there is not None and there.item_id != item.pk):
            raise CannotMove(f"{row['text'][:40]} means another item by now")
        if there is None:
            fresh.append((item, row["text"], row["pack"]))
        else:
            catalogue.change_pack(there, row["pack"], writes.person)
    catalogue.add_codes(fresh)


CODES = Kind("codes", "Codes of items", "one printed text", COLUMNS, judge, write)
