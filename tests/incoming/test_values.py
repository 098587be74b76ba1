"""What one cell says; a number that can be read two ways is a question."""

import datetime as dt
from decimal import Decimal

import pytest

from inventory.incoming.errors import Wrong
from inventory.incoming.values import Numbers, as_printed, day


@pytest.mark.parametrize(
    ("decimal", "cell", "expected"),
    [
        ("", "1250", "1250"),
        ("", "1,5", "1.5"),
        ("", "1.5", "1.5"),
        ("", "1.250,5", "1250.5"),
        ("", "1,250.5", "1250.5"),
        ("", "1.250.000", "1250000"),
        ("comma", "1.250", "1250"),
        ("comma", "1,250", "1.250"),
        ("point", "1.250", "1.250"),
        ("point", "1,250", "1250"),
        ("point", "1 250.5", "1250.5"),
        ("", 1250, "1250"),
        ("", 0.1, "0.1"),
        ("", "-3", "-3"),
    ],
)
def test_a_number_is_read_by_its_mark(decimal: str, cell: str | float, expected: str) -> None:
    """Chosen for the file, or shown by the number itself."""
    assert Numbers(decimal).read(cell) == Decimal(expected)


@pytest.mark.parametrize(
    ("decimal", "cell", "words"),
    [
        ("", "1.250", "can be read one way"),
        ("", "1,250", "can be read one way"),
        ("comma", "1.25", "groups of three"),
        ("point", "12,50", "groups of three"),
        ("comma", "1,2,3", "one decimal ','"),
        ("", "12 pieces", "expected a number"),
        ("", "1e308", "expected a number"),
        ("", "NaN", "expected a number"),
        ("", None, "got nothing"),
        ("", True, "expected a number"),
    ],
)
def test_what_is_no_number_is_refused(decimal: str, cell: object, words: str) -> None:
    """Expected and got are said."""
    with pytest.raises(Wrong, match=words):
        Numbers(decimal).read(cell)  # type: ignore[arg-type]


def test_one_file_has_one_decimal_mark() -> None:
    """The first that shows it decides; the other is refused from then on."""
    numbers = Numbers()

    assert numbers.read("1,5") == Decimal("1.5")
    with pytest.raises(Wrong, match=r"decimal ',' as before, got '2\.5'"):
        numbers.read("2.5")


def test_whole_base_units_of_a_larger_unit() -> None:
    """12.5 m are 12,500 mm; a part of a mm is refused."""
    numbers = Numbers("point")

    assert numbers.whole("12.5", 0, 10**6, times=1000) == 12500
    with pytest.raises(Wrong):
        numbers.whole("0.0001", 0, 10**6, times=1000)


def test_days_are_read_in_two_forms_and_no_third() -> None:
    """3/4/2026 is two days, so it is refused."""
    assert day("2026-03-04") == day("04.03.2026") == day(dt.date(2026, 3, 4))
    with pytest.raises(Wrong, match="expected a day"):
        day("3/4/2026")


def test_a_number_cell_is_no_serial() -> None:
    """What a spreadsheet cut off in front or behind cannot be seen any more."""
    assert as_printed("007", "serial") == "007"
    for cell in (7, 7.5, dt.date(2026, 1, 2), True):
        with pytest.raises(Wrong, match="expected the serial as text"):
            as_printed(cell, "serial")
