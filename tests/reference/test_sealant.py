"""Sealant by bead section: ml per metre = section in mm2; whole cartridges (row's sources)."""

import pytest

from kitting.plan import configuration, family, kit
from kitting.plan.counting.volume import cartridges
from kitting.plan.figures.sealant import SHAPES, contents, feet
from tests.plan.small import text
from tests.reference.facts import cells, check, each, used

BEADS = [*cells("seal.area"), *cells("seal.cart")]
FLUID_OUNCE = 231 / 128
"""Cubic inches: a US gallon is 231 in3 and 128 fluid ounces."""


@each(used("sealant"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


def taken(shape, width, depth, length_m, pack_ml, waste):
    """ul that a kit takes for a bead of this length."""
    deep = f", depth = {depth}" if depth else ""
    bead = f'{{ shape = "{SHAPES[shape]}", width = {width}{deep} }}'
    more = (
        '[[item]]\ncode = "glue"\nname = "sealant"\ntracking = "lot"\nunit = "ul"\nmass_g = 1400\n'
        f'pack = {pack_ml * 1000}\n[[rule]]\nname = "bead"\nneed = "seal entry"\nstep = "seal"\n'
        f'way = "volume"\nitem = "glue"\nbead = {bead}\nseam = {length_m * 1000}\n'
        f"waste = {round(waste * 100)}\n"
    )
    known = family.parse(text(without=("no seal entry",), more=more), "bead.toml")
    data = {"family": "small", "wall": "brick", "od": 130, "run": 4000, "stacks": [{"modules": 1}]}
    found = kit.work_out(known, configuration.parse(data, known))
    assert found.refused == ()
    return next(line.quantity for line in found.lines if line.item == "glue")


@each(BEADS)
def test_a_kit_takes_what_the_figure_says(row):
    """A whole kit comes to the row's ml and cartridges."""
    given = {"length_m": 1, "pack_ml": 310, "waste": 0, **row["inputs"]}
    keys = ("shape", "w_mm", "d_mm", "length_m", "pack_ml", "waste")
    amount = taken(*(given[key] for key in keys))
    value = row["value"] if isinstance(row["value"], dict) else {"ml": row["value"]}

    assert amount / 1000 == pytest.approx(value["ml"], abs=0.5)
    if "cartridges" in value:
        assert cartridges(amount, given["pack_ml"] * 1000) == value["cartridges"]


@each([row for row in used("sealant") if row["id"].startswith("seal.vol")])
def test_contents_of_packs_are_their_fluid_ounces(row):
    """A pack's printed cubic inches are its US fluid ounces, within the row's tolerance."""
    ounces = float(row["inputs"]["pack"].split()[0])

    assert ounces * FLUID_OUNCE == pytest.approx(row["value"], abs=row["tolerance"])


def test_a_web_table_is_not_believed():
    """Trap: a page prints 50 to 55 ft per 10.1 floz cartridge at 1/4 x 1/4 in; volume gives 24."""
    assert feet(0.25, 0.25, "10.1 floz") < 25
    assert contents()["10.1 floz"] < 19
