"""Data identifiers of ANSI MH10.8.2."""

import pytest

from inventory.codes import data_identifiers
from inventory.codes.errors import CodeError


@pytest.mark.parametrize(
    ("pair", "expected"),
    [
        (("1D", "290331"), {"date": "2031-03-29"}),  # DDMMYY
        (("D", "290331"), {"date": "2029-03-31"}),  # YYMMDD
        (("11D", "202653"), {"week": "2026-W53"}),
        (("15D", "31012026"), {"expiry": "2026-01-31"}),  # DDMMYYYY
        (("14D", "20260131"), {"expiry": "2026-01-31"}),
        (("P", "X"), {"item_customer": "X"}),  # P is the customer's, 1P the supplier's
        (("1P", "X"), {"item_supplier": "X"}),
        (("9D", "2617"), {}),  # form agreed between two parties: never parsed
        (("99Z", "X"), {}),  # unknown: kept as a pair, no field
    ],
)
def test_fields(pair, expected):
    """Values are named and dated by their identifier."""
    assert data_identifiers.fields([pair], 2026) == expected


@pytest.mark.parametrize(
    ("pair", "kind"),
    [
        (("D", "29033"), "bad_date"),
        (("16D", "2026013A"), "bad_date"),
        (("7Q", "PC"), "non_numeric_quantity"),
        (("10D", "2600"), "bad_week"),
    ],
)
def test_bad_values(pair, kind):
    """A value that its identifier cannot have is refused by name."""
    with pytest.raises(CodeError) as refusal:
        data_identifiers.fields([pair], 2026)

    assert refusal.value.kind == kind


def test_table_head_names_its_source():
    """The first lines say source and edition."""
    head = data_identifiers.TABLE.read_text(encoding="utf-8")[:600]

    assert "Source:" in head
    assert "Edition:" in head
