"""Quantities as people say them, exactly."""

import pytest

from inventory.models import Place
from inventory.templatetags.amounts import amount, where


@pytest.mark.parametrize(
    ("quantity", "unit", "shown"),
    [
        (3, "piece", "3"),
        (12500, "piece", "12,500"),
        (7250, "mm", "7.25 m"),
        (1, "mm", "0.001 m"),  # nothing is rounded away
        (20000, "mm", "20 m"),  # no 2E+1
        (310000, "ul", "310 ml"),
        (500, "ul", "0.5 ml"),
        (414000, "mm2", "0.414 m\u00b2"),
    ],
)
def test_a_quantity_is_shown_in_its_everyday_unit(quantity: int, unit: str, shown: str) -> None:
    """Metres, millilitres and square metres, to the last base unit."""
    assert amount(quantity, unit) == shown


def test_a_place_is_told_from_the_inside_out() -> None:
    """The bag, then what it stands in; a thing that stands nowhere says so."""
    van = Place(kind="van", code="V", name="Van 2")
    parcel = Place(kind="parcel", code="P", name="Parcel 1", parent=van)

    assert where(Place(kind="bag", code="G", name="Bag 3", parent=parcel)) == (
        "Bag 3, Parcel 1, Van 2"
    )
    assert where(None) == "nowhere yet"
