"""Suppliers and carriers brought in."""

from __future__ import annotations

import re
from collections.abc import Sequence

from inventory import deliveries
from inventory.bringing.kinds import Asked, Data, Found, Kind, once_each
from inventory.incoming.columns import Cells, Column
from inventory.incoming.errors import Wrong
from inventory.incoming.tables import Cell
from inventory.incoming.values import Numbers, choice, shown, text
from inventory.models import Partner, Person
from inventory.moving import Writing

COLUMNS = (
    Column("code", "short code: letters, digits, - and _, up to 20", ("short code",), True),
    Column("name", "its name", ("company", "Firma"), True),
    Column("kind", "supplier or carrier; empty: supplier", ("does",)),
)
SHORT = re.compile(r"[-A-Za-z0-9_]{1,20}")
_KINDS = {"supplier": "supplier", "carrier": "carrier", "lieferant": "supplier"}


def judge(rows: Sequence[Cells], numbers: Numbers, by: Person | None) -> list[Found]:
    """Judge every row."""
    known = {partner.code: partner for partner in Partner.objects.all()}
    found, keys = [], []
    for cells in rows:
        asked = Asked(cells)
        code = asked.read("code", _short, "")
        name = asked.read("name", lambda cell: text(cell, 120, needed=True), "")
        kind = asked.read("kind", lambda cell: choice(cell, _KINDS, first="supplier"), "supplier")
        there = known.get(code)
        if there is not None:
            asked.differs("name", there.name, name)
            if asked.given("kind") and kind != there.kind:
                asked.wrong("kind", f"expected {there.kind} as it is entered, got {kind!r}")
        data = {"code": code, "name": name, "kind": kind}
        found.append(asked.found(f"{code} {name}", data, known=there is not None))
        keys.append(code or None)
    return once_each(found, keys, "code")


def _short(cell: Cell) -> str:
    found = text(cell, 20, needed=True)
    if SHORT.fullmatch(found) is None:
        raise Wrong(f"expected letters, digits, - and _, got {shown(cell)}")
    return found


def write(writes: Writing, rows: Sequence[Data]) -> None:
    """Enter new ones, rename those that are there."""
    known = {partner.code: partner for partner in Partner.objects.all()}
    fresh = []
    for row in rows:
        there = known.get(row["code"])
        if there is None:
            fresh.append(Partner(code=row["code"], name=row["name"], kind=row["kind"]))
        elif there.name != row["name"]:
            deliveries.rename_partner(there, row["name"], writes.person)
    deliveries.enter_partners(fresh)


SUPPLIERS = Kind(
    "suppliers", "Suppliers and carriers", "one supplier or carrier", COLUMNS, judge, write
)
