"""By dimension: the item whose range holds the measure, the thread of the hole first."""

import pytest

from kitting.plan.given import CannotCount
from tests.plan.small import counted, thing, way

GLANDS = [
    thing("g20", thread="M20", fits={"diameter": [60, 120]}),
    thing("g25", thread="M25", fits={"diameter": [110, 170]}),
    thing("g32", thread="M32", fits={"diameter": [180, 250]}),
]
SEATS = ("M20 in M25", "M25 in M25", "M32 in M25")
RULE = 'measure = "diameter"\nchoose = ["g20", "g25", "g32"]'


@pytest.mark.parametrize(
    ("diameter", "gland"),
    [
        (60, "g20"),  # the lower end fits
        (109, "g20"),
        (110, "g25"),  # both hold it: the thread of the hole first
        (120, "g25"),
        (170, "g25"),  # the upper end fits
        (180, "g32"),
        (250, "g32"),
    ],
)
def test_the_gland_holds_the_cable(diameter, gland):
    """Least <= diameter <= most; where two hold it, no reducer is better than one."""
    assert counted("fit", RULE, GLANDS, SEATS, diameter=diameter, hole="M25")[0] == {gland: 1}


@pytest.mark.parametrize("diameter", [59, 171, 179, 251])
def test_nothing_fits_is_said(diameter):
    """A tenth of a millimetre outside every range gives no gland, not the nearest."""
    with pytest.raises(CannotCount, match=f"nothing listed fits diameter {diameter}"):
        counted("fit", RULE, GLANDS, SEATS, diameter=diameter, hole="M25")


def test_a_gland_that_nothing_seats_is_not_taken():
    """A gland whose thread finds no reducer into the hole is no answer, and its name is told."""
    with pytest.raises(CannotCount, match="g32 would hold diameter 200, but nothing seats it"):
        counted("fit", RULE, GLANDS, SEATS[:2], diameter=200, hole="M25")


@pytest.mark.parametrize(("modules", "lead"), [(2, "l10"), (3, "l17"), (4, "l17")])
def test_a_ready_made_lead_reaches_the_path(modules, lead):
    """The shortest lead that is not shorter than the path."""
    leads = [thing("l17", fits={"length": [0, 1700]}), thing("l10", fits={"length": [0, 1000]})]
    rule = 'measure = "length"\nvalue = { fixed = 320, modules = 340 }\nchoose = ["l17", "l10"]'

    assert counted("fit", rule, leads, modules=modules)[0] == {lead: 1}


def test_an_item_that_has_no_such_range_is_a_fault():
    """Only items measured the same way can be chosen from."""
    fault = way("fit", 'measure = "diameter"\nchoose = ["bolt"]')[1]

    assert fault == ["rule: choose: expected items with fits.diameter, got 'bolt'"]
