"""Quantities as people say them, exactly."""

import pytest

from inventory.models import Item
from inventory.words import amount, counted, measure


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
    assert measure(quantity, unit) == shown


@pytest.mark.parametrize(
    ("quantity", "unit", "said"),
    [
        (1, "piece", "1 x rail"),
        (12, "piece", "12 x rail"),
        (10400, "mm", "10.4 m of rail"),
    ],
)
def test_an_amount_names_its_item(quantity: int, unit: str, said: str) -> None:
    """Pieces are counted, lengths are measured."""
    assert amount(quantity, Item(name="rail", unit=unit)) == said


def test_one_of_a_thing_is_no_plural() -> None:
    told = [counted(n, "row") for n in (0, 1, 2)] + [counted(1, "box"), counted(0, "box", "boxes")]
    assert told == ["0 rows", "1 row", "2 rows", "1 box", "0 boxes"]
