"""Conductors: voltage drop, resistance when warm, ampacity at another ambient (row's sources)."""

import pytest

from kitting.plan.conductors import drop, iec_carries, warmed
from tests.plan.small import way
from tests.reference.engineering import ids, rows

DROPS = rows("cond.vdrop.")
WARM = rows("cond.rt.")
ADJUSTED = rows("cond.iecadj.")
CONTINUOUS = rows("cond.cont125.")
SYSTEMS = {"dc": "dc", "1ph": "single phase", "3ph": "three phase"}


@pytest.mark.parametrize("row", DROPS, ids=ids(DROPS))
def test_the_drop_of_a_run(row):
    """2 x L x I x R, three phase sqrt 3 x L x I x R."""
    given = row["inputs"]
    system, length = SYSTEMS[given["kind"]], given["length_m_one_way"]
    volt = drop(system, length, given["current_a"], given["ohm_km"])

    assert volt == pytest.approx(row["value"]["volt"], abs=row["tolerance"]["volt"])
    percent = 100 * volt / given["nominal_v"]
    assert percent == pytest.approx(row["value"]["percent"], abs=row["tolerance"]["percent"])


@pytest.mark.parametrize("row", WARM, ids=ids(WARM))
def test_copper_at_70_c(row):
    """R = R20 x (1 + 0.00393 x 50)."""
    given = row["inputs"]
    warm = warmed(given["r20_ohm_km"], given["temp_c"], given["alpha"])

    assert warm == pytest.approx(row["value"], abs=row["tolerance"])


@pytest.mark.parametrize("row", ADJUSTED, ids=ids(ADJUSTED))
def test_ampacity_in_a_hot_place(row):
    """A machine manual's worked figure: table value times the factor of the ambient."""
    given = row["inputs"]
    where = (given["method"], given["loaded_cores"], "PVC", given["ambient_c"])
    found = iec_carries(given["area_mm2"], *where)

    assert found == pytest.approx(row["value"], abs=row["tolerance"])


@pytest.mark.parametrize("row", CONTINUOUS, ids=ids(CONTINUOUS))
def test_a_continuous_load_counts_125_per_cent(row):
    """The conductor of a continuous load is chosen for the row's current."""
    cable = {"code": "c", "name": "c", "tracking": "length", "mass_g": 1}
    cable["conductor"] = {"area": 95, "class": 5}
    rule = 'sizes = ["c"]\nsystem = "single phase"\nvoltage = 230\ndrop_permille = 30\n'
    rule += f'method = "C"\ncontinuous = true\ncurrent = {row["inputs"]["continuous_a"]}\n'

    assert way("cable", rule, [cable])[0].design == row["value"]
