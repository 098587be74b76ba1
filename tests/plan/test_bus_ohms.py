"""Ohms of a data line against ISO 11898-2: 120 ohm at each of two ends, in parallel."""

import pytest

from kitting.plan import bus_ohms
from kitting.plan.figures.buses import measured


@pytest.mark.parametrize(
    ("ohm", "ends"),
    [
        (60, 2),  # ISO 11898-2: two of 120 in parallel
        (50, 2),  # a module manual's lower edge
        (70, 2),  # and its upper one
        (120, 1),  # one end alone
        (118, 1),  # with a meter's and a plug's share
        (40, 3),  # a third one
        (30, 4),
        (24, 5),
        (49, 0),  # below the manual's band and above what three can show
        (71, 0),
        (90, 0),  # between one and two ends: a loose plug
        (145, 0),
        (9999, 0),
        (0, 0),
    ],
)
def test_so_many_ends_show_so_many_ohms(ohm: int, ends: int) -> None:
    """A reading tells the number of ends, or nothing."""
    assert bus_ohms.ends(ohm) == ends
    assert bus_ohms.verdict(ohm).right is (ends == 2)


def test_what_is_wrong_is_said() -> None:
    """Missing, too many, shorted, open and unclear are five sentences."""
    said = {ohm: bus_ohms.verdict(ohm).words for ohm in (120, 40, 30, 3, 9999, 90)}

    assert said[120] == "One end is missing: one of 2 is there"
    assert said[40].startswith("One end too many")
    assert said[30].startswith("2 ends too many")
    assert "touch each other" in said[3]
    assert "broken on the way" in said[9999]
    assert "loose plug" in said[90]
    assert len(set(said.values())) == len(said)


def test_the_bands_lie_round_the_published_figures() -> None:
    """Each number of ends shows what the figure of the standard says of it."""
    assert [bus_ohms.ends(round(measured(n))) for n in range(1, 6)] == [1, 2, 3, 4, 5]
