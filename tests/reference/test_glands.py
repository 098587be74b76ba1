"""Glands by the cable's diameter, conduit by fill, IP numerals (each row names its source).

EN 62444 fixes no ranges; the ranges here are common practice, no published source.
"""

import math

import pytest

from kitting.plan import conduit, configuration, family, kit
from kitting.plan.conductors import insulated
from kitting.plan.figures.glands import holding, satisfies
from tests.plan.small import text
from tests.reference.facts import cells, check, each, used

CLAMPS = {row["inputs"]["size"]: row["value"] for row in cells("gland.clamp.")}
PICKS = cells("gland.pick.")
OLD = 'choose = ["g20", "g25"]'


@each(used("glands"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


def tenths(mm):
    return round(mm * 10)


def edition(hole):
    """The small family with the typical glands, an M hole of this size and no reducer."""
    glands = "".join(
        f'[[item]]\ncode = "t{size}"\nname = "gland {size}"\ntracking = "count"\nmass_g = 1\n'
        f'thread = "{size}"\nfits = {{ diameter = [{tenths(low)}, {tenths(high)}] }}\n'
        for size, (low, high) in CLAMPS.items()
    )
    listed = ", ".join(f'"t{size}"' for size in CLAMPS)
    whole = text(without=("reducers",), more=glands).replace(OLD, f"choose = [{listed}]")
    whole = whole.replace("max = 200\nunknown", "max = 600\nunknown")
    for old, new in (
        ("M25 in M25", f"{hole} in {hole}"),
        ('thread = "M25"\ncount', f'thread = "{hole}"\ncount'),
    ):
        assert old in whole
        whole = whole.replace(old, new)
    return family.parse(whole, "glands.toml")


def fitting(diameter):
    """Sizes whose own hole gives a kit for the cable."""
    found = []
    for size in CLAMPS:
        known = edition(size)
        data = {"family": "small", "wall": "brick", "od": tenths(diameter), "run": 4000}
        data["stacks"] = [{"modules": 1}]
        taken = kit.work_out(known, configuration.parse(data, known))
        if not taken.refused:
            glands = {line.item for line in taken.lines if line.step == "gland"}
            assert glands == {f"t{size}", "nut"}
            found.append(size)
    return found


@each(PICKS)
def test_the_sizes_that_hold_a_cable(row):
    """Exactly the sizes of the row give a kit; every other size is refused, none is the nearest."""
    assert fitting(row["inputs"]["cable_od_mm"]) == row["value"]


@each(cells("gland.emt.area_in2"))
def test_inner_diameter_and_area_of_conduit_agree(row):
    """NEC chapter 9 table 4: both columns are one circle; each proves the other."""
    across = conduit.inner("EMT", row["inputs"]["emt"])
    printed = next(
        one["value"]
        for one in cells("gland.emt.id_in")
        if one["inputs"]["emt"] == row["inputs"]["emt"]
    )

    assert across == printed
    assert math.pi / 4 * across**2 == pytest.approx(row["value"], abs=0.001)


def test_the_printed_forty_per_cent_would_lose_a_conductor():
    """Trap: 6 AWG in 1-1/4 EMT: 0.598 / 0.0507 = 11.795, yet annex C prints 12, as 0.40 x area."""
    each_area = insulated("6")[1]

    assert 0.598 / each_area < 11.8
    assert conduit.most(conduit.area("EMT", "1-1/4"), each_area) == 12


@pytest.mark.parametrize(
    ("rating", "needs", "holds"),
    [
        ("IP67", "IP66", False),
        ("IP67", "IP65", False),
        ("IP68", "IP67", True),
        ("IP67", "IP54", True),
        ("IP66", "IP65", True),
        ("IP66", "IP67", False),
        ("IP66/IP67", "IP66", True),
    ],
)
def test_immersion_says_nothing_about_jets(rating, needs, holds):
    """Trap: IEC 60529 clause 6, numerals to 6 hold the lower ones, 7 and 8 do not hold 5 and 6."""
    assert satisfies(rating, needs) is holds


def test_nothing_fits_is_said():
    """A diameter between or beyond all ranges has no size; never the nearest."""
    assert [holding(2.9), holding(42.1)] == [[], []]
