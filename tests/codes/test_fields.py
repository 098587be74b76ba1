"""Elements in our words."""

import pytest

from inventory.codes import fields
from inventory.codes.errors import CodeError


def test_names_counts_and_measures():
    """Counts are numbers, measures decimal text, unknown meanings left out."""
    elements = (
        ("00", "952012345678912345"),
        ("02", "09520123456788"),
        ("37", "0012"),
        ("3305", "000001"),
        ("3300", "000120"),
        ("420", "12345"),
    )
    expected = {
        "sscc": "952012345678912345",
        "contained_gtin": "09520123456788",
        "contained_count": 12,
        "gross_weight_kg": "120",
    }

    assert expected == fields.of_elements(elements, 2026)
    assert fields.of_elements(elements[3:4], 2026) == {"gross_weight_kg": "0.00001"}
    assert fields.of_elements(elements[3:4], 2026) != {"gross_weight_kg": "0.000001"}


def test_dates_hold_names_the_element():
    """A date that its century does not have is refused with its identifier."""
    with pytest.raises(CodeError, match=r"\(7003\).*expected a day"):
        fields.dates_hold((("7003", "2602301200"),), 2026)
