"""Labels of makers brought in: how the plain text on things of an item looks."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from inventory import catalogue, maker_labels
from inventory.bringing.finding import Items
from inventory.bringing.kinds import Asked, Data, Found, Kind, once_each
from inventory.codes.errors import CodeError
from inventory.codes.symbology import same
from inventory.incoming.columns import Cells, Column
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, as_printed
from inventory.models import Item, ItemCode, Person
from inventory.moving import CannotMove, Writing

COLUMNS = (
    Column("item", "our code of the item", ("item code", "Artikel"), True),
    Column("pattern", "plain text and fields such as XM{serial:d8}", ("label", "Muster"), True),
    Column("symbol", "kind of symbol, such as Code128; empty: any", ("symbology", "Symbol")),
    Column("example", "a text as printed on one; it is tried, not kept", ("Beispiel",)),
)
OF = {"bad_symbol": "symbol", "bad_example": "example"}  # kind of refusal -> its column


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row: a pattern means one item only, and reads its example."""
    items = Items()
    known = {code.key: code for code in ItemCode.objects.select_related("item")}
    found, keys = [], []
    for cells in rows:
        asked = Asked(cells)
        item = asked.read("item", items.named, None)
        pattern = asked.read("pattern", _text("pattern"), "")
        symbol = _symbol(asked.read("symbol", _text("symbol"), ""))
        example = asked.read("example", _text("example"), "")
        try:
            maker_labels.checked(item, pattern, symbol, example)
        except CodeError as error:
            asked.wrong(OF.get(error.kind, "pattern"), error.message)
        there = known.get(pattern)
        if there is not None:
            _compare(asked, there, item, symbol)
        data = {"item": item.code if item else "", "pattern": pattern, "symbol": symbol}
        about = f"{pattern} on {item.code}" if item else pattern
        found.append(asked.found(about, data, known=there is not None))
        keys.append(pattern or None)
    return once_each(found, keys, "pattern")


def _text(column: str) -> Callable[[Cell], str]:
    return lambda cell: "" if cell is None else as_printed(cell, column).strip()


def _symbol(text: str) -> str:
    """The name as we write it, `code 128` as Code128; what is no name is told by the check."""
    return next((name for name in maker_labels.SYMBOLS if same(name, text)), text)


def _compare(asked: Asked, there: ItemCode, item: Item | None, symbol: str) -> None:
    if not there.label_pattern or (item is not None and there.item_id != item.pk):
        asked.wrong(
            "pattern", f"expected a pattern of no other item, got that of {there.item.code}"
        )
    elif asked.given("symbol"):
        asked.differs("symbol", there.symbology, symbol)


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Let each pattern mean its item. Raises CannotMove where it means another by now."""
    known = {code.key: code for code in ItemCode.objects.select_related("item")}
    items = {item.code: item for item in Item.objects.all()}
    fresh = []
    for row in rows:
        there, item = known.get(row["pattern"]), items.get(row["item"])
        if item is None or (there is not None and there.item_id != item.pk):
            raise CannotMove(f"{row['pattern'][:40]} means another item by now")
        if there is None:
            fresh.append((item, row["pattern"], row["symbol"]))
        else:
            catalogue.change_label(there, row["symbol"], writes.person)
    catalogue.add_labels(fresh)


LABELS = Kind("labels", "Labels of makers", "how one label looks", COLUMNS, judge, write)
