"""Conductors: drop, resistance, what they carry (each row names its published source)."""

import math

import pytest

from kitting.plan import conductors
from tests.plan.small import way
from tests.reference.facts import cells, check, each, used

RESISTIVITY = 10.371 * (1 + 0.00393 * 55)
"""Ohm x circular mil per foot of annealed copper at 75 C (10.371 at 20 C, IACS)."""
SOLID = ("14", "12", "10", "8")
"""Sizes whose printed resistance is that of a solid conductor; from 6 AWG stranding adds 2 %."""


@each(used("conductors"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


@each([row for row in cells("cond.nec8") if row["kind"] == "published"])
def test_resistance_of_awg_follows_from_its_section(row):
    """NEC chapter 9 table 8 against ASTM B258 sizes and the resistivity of copper, within 0.7 %."""
    awg = row["inputs"]["awg"]
    circular_mils = conductors.awg_area(awg) / (math.pi / 4 * 0.0254**2)
    solid = 1000 * RESISTIVITY / circular_mils

    assert solid * (1 if awg in SOLID else 1.02) == pytest.approx(row["value"], rel=0.007)


@each([*cells("cond.nectemp"), *cells("cond.iectemp")])
def test_ambient_factors_follow_from_the_warmest_conductor(row):
    """NEC 310.15(B) equation: sqrt((Tc - Ta) / (Tc - 30)) at the band's warm end, to two decimals;
    IEC table B.52.14 follows the same heat balance."""
    given = row["inputs"]
    ambient = int(str(given["ambient_c"]).split("-")[-1])
    hottest = given.get("column_c", 70)

    exact = math.sqrt((hottest - ambient) / (hottest - 30))
    assert exact == pytest.approx(row["value"], abs=0.006)


@each(cells("cond.area.thwn2"))
def test_area_and_diameter_of_insulated_conductors_agree(row):
    """NEC chapter 9 table 5: both columns are one circle; each proves the other."""
    across, area = conductors.insulated(row["inputs"]["awg"])

    assert math.pi / 4 * across**2 == pytest.approx(row["value"], abs=0.00006)
    assert area == row["value"]


@each([row for row in cells("cond.vdrop") if "cl" in row["inputs"].get("conductor", "")])
def test_the_drop_starts_from_the_table_s_resistance(row):
    """The worked drop names its conductor; the product's table warmed up is the row's ohm/km."""
    area, _, stranding, _, temp, _ = row["inputs"]["conductor"].split()
    found = conductors.resistance(float(area), int(stranding.removeprefix("cl")))

    assert conductors.warmed(found, int(temp)) == pytest.approx(row["inputs"]["ohm_km"], abs=1e-4)


def test_three_coefficients_are_told_apart():
    """Trap: 0.004 (IEC 60228 annex B), 0.00393 (IEC 60287), 0.00323 from 75 C (NEC)."""
    assert conductors.to_20(75) == pytest.approx(1 / 1.22)
    assert conductors.warmed(1, 75) == pytest.approx(1.21615)
    assert conductors.warmed(1, 20, conductors.ALPHA_75, 75) == pytest.approx(1 - 0.17765)


@pytest.mark.parametrize(
    ("awg", "column", "old", "new"),
    [("14", 60, 20, 15), ("12", 60, 25, 20), ("3", 90, 110, 115), ("1", 90, 150, 145)],
)
def test_the_edition_decides_what_a_conductor_carries(awg, column, old, new):
    """Trap: four cells of NEC table 310.16 changed over the editions."""
    assert conductors.nec_ampacity(awg, column, "NEC 2008") == old
    assert conductors.nec_ampacity(awg, column, "NEC 2023") == new


@each([row for row in cells("cond.cont125.") if row["inputs"]["continuous_a"] in (24, 32, 40, 48)])
def test_a_continuous_load_counts_125_per_cent(row):
    """The kit chooses the conductor of a continuous load for the row's current."""
    cable = {"code": "c", "name": "c", "tracking": "length", "mass_g": 1}
    cable["conductor"] = {"area": 95, "class": 5}
    rule = 'sizes = ["c"]\nsystem = "single phase"\nvoltage = 230\ndrop_permille = 30\n'
    rule += f'method = "C"\ncontinuous = true\ncurrent = {row["inputs"]["continuous_a"]}\n'

    assert way("cable", rule, [cable])[0].design == row["value"]
