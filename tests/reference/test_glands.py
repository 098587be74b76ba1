"""Glands by the cable's diameter: least <= diameter <= most.

EN 62444 fixes no ranges; the ranges here are common practice, no published source.
"""

import pytest

from kitting.plan import configuration, family, kit
from tests.plan.small import text
from tests.reference.engineering import ids, rows

CLAMPS = {row["inputs"]["size"]: row["value"] for row in rows("gland.clamp.")}
PICKS = rows("gland.pick.")
OLD = 'choose = ["g20", "g25"]'


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


@pytest.mark.parametrize("row", PICKS, ids=ids(PICKS))
def test_the_sizes_that_hold_a_cable(row):
    """Exactly the sizes of the row give a kit; every other size is refused, none is the nearest."""
    assert fitting(row["inputs"]["cable_od_mm"]) == row["value"]
