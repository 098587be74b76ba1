"""Sealant by bead section: ml per metre = section in mm2; whole cartridges (row's sources)."""

import pytest

from kitting.plan import configuration, family, kit
from kitting.plan.counting.volume import cartridges
from tests.plan.small import text
from tests.reference.engineering import ids, rows

AREAS = rows("seal.area.")
CARTRIDGES = rows("seal.cart.")
SHAPES = {"rect": "rectangle", "tri": "triangle", "half": "half round", "round": "round"}


def taken(inputs, length_m, pack_ml, waste):
    """ul that a kit takes for a bead of this length."""
    depth = f", depth = {inputs['d_mm']}" if inputs["shape"] in ("rect", "tri") else ""
    bead = f'{{ shape = "{SHAPES[inputs["shape"]]}", width = {inputs["w_mm"]}{depth} }}'
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


@pytest.mark.parametrize("row", AREAS, ids=ids(AREAS))
def test_a_metre_of_bead(row):
    """One metre takes the row's millilitres."""
    assert taken(row["inputs"], 1, 310, 0) / 1000 == pytest.approx(
        row["value"], abs=row["tolerance"]
    )


@pytest.mark.parametrize("row", CARTRIDGES, ids=ids(CARTRIDGES))
def test_a_job_takes_whole_cartridges(row):
    """Length, bead and waste come to the row's ml and cartridges."""
    inputs = row["inputs"]
    amount = taken(inputs, inputs["length_m"], inputs["pack_ml"], inputs["waste"])

    assert amount / 1000 == pytest.approx(row["value"]["ml"], abs=row["tolerance"]["ml"])
    assert cartridges(amount, inputs["pack_ml"] * 1000) == row["value"]["cartridges"]
