"""Copper as published: two families of tables (IEC, NEC), three temperature coefficients."""

import math

import pytest

from kitting.plan import conductors, lookup
from kitting.plan.conductors import (
    ALPHA_20,
    ALPHA_75,
    ALPHA_60228,
    IEC,
    NoFigure,
    ambient_steps,
    ampacity,
    awg_area,
    continuous,
    drop,
    drop_limit,
    factor,
    grouped_steps,
    iec_carries,
    insulated,
    longest,
    more_drop,
    nec_ampacity,
    nec_carries,
    nec_resistance,
    nec_small,
    outer,
    per_km,
    resistance,
    to_20,
    warmed,
)

AWG = ["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"]


def test_the_three_temperature_coefficients_are_three():
    """IEC 60228 annex B 0.004, IEC 60287 0.00393, NEC chapter 9 table 8 0.00323 from 75 C."""
    assert (ALPHA_60228, ALPHA_20, ALPHA_75) == (0.004, 0.00393, 0.00323)
    assert to_20(70) == pytest.approx(0.833, abs=0.0005)  # IEC 60228 annex B prints 0.833
    assert 1 / warmed(1, 70) == pytest.approx(0.836, abs=0.0005)  # the other one is not that
    assert warmed(1.21, 30, ALPHA_75, 75) == pytest.approx(1.0341, abs=0.0001)


@pytest.mark.parametrize(("temp", "kt"), [(5, 1.064), (10, 1.042), (30, 0.962), (90, 0.781)])
def test_the_factor_that_brings_a_measured_resistance_to_20_c(temp, kt):
    """IEC 60228 annex B, as tabulated."""
    assert to_20(temp) == pytest.approx(kt, abs=0.001)


def test_resistance_by_class_and_finish():
    """IEC 60228 tables 2 and 3, plain and tinned."""
    assert (resistance(6, 2), resistance(6, 5), resistance(6, 5, "tinned")) == (3.08, 3.3, 3.39)
    with pytest.raises(NoFigure, match=r"^no published figure for 2\.5 mm2, class 2, tinned$"):
        resistance(2.5, 2, "tinned")


def test_ohm_per_thousand_feet_and_per_km():
    """NEC table 8 prints 1.21 ohm/kft for 10 AWG; a copy prints 3.970 ohm/km."""
    assert per_km(nec_resistance("10")) == pytest.approx(3.97, abs=0.005)


@pytest.mark.parametrize("awg", AWG)
def test_an_awg_size_fits_its_resistance(awg):
    """Copper of 1.7241e-8 ohm m (IEC 60028) and the ASTM B258 area come to NEC table 8 within 3 %
    (strands are a little longer than the cable)."""
    ohm_km = warmed(17.241 / awg_area(awg), 75)

    assert per_km(nec_resistance(awg)) / ohm_km == pytest.approx(1.01, abs=0.03)


@pytest.mark.parametrize(
    ("system", "length", "amps", "ohm_km", "volt"),
    [  # worked cases, stored text of the AS/NZS 3008 form
        ("dc", 8, 63, 1.21, 1.22),
        ("dc", 3, 125, 0.386, 0.289),
        ("single phase", 25, 32, 3.3, 5.28),
        ("three phase", 40, 16, 7.41, 8.214),
        ("three phase", 55, 50, 1.15, 5.478),
        ("single phase", 100 * 0.3048, 24, per_km(1.21), 5.808),  # 100 ft, 10 AWG at 75 C
    ],
)
def test_the_drop_of_a_run(system, length, amps, ohm_km, volt):
    """2 x L x I x R; three phase sqrt 3 x L x I x R."""
    assert drop(system, length, amps, ohm_km) == pytest.approx(volt, abs=0.005)


def test_the_longest_run_just_keeps_the_drop():
    """One more millimetre would lose more than allowed."""
    mm = longest("three phase", 16, warmed(7.41, 70), 4)

    assert drop("three phase", mm / 1000, 16, warmed(7.41, 70)) <= 4
    assert drop("three phase", (mm + 1) / 1000, 16, warmed(7.41, 70)) > 4


@pytest.mark.parametrize(
    ("case", "percent"),
    [("nec.branch", 3), ("nec.total", 5), ("bs7671.other", 5), ("iec.other.private", 8)],
)
def test_drop_limits_by_code(case, percent):
    """NEC 210.19(A) note; BS 7671 table 4Ab; IEC 60364-5-52 table G.52.1 (from memory)."""
    assert drop_limit(case) == percent


def test_long_runs_may_lose_a_little_more():
    """BS 7671 appendix 4: 0.005 % per metre beyond 100 m, at most 0.5 %."""
    assert [more_drop(m) for m in (50, 100, 150, 200, 260)] == [0, 0, 0.25, 0.5, 0.5]


@pytest.mark.parametrize(
    ("amps", "other", "design"), [(24, 0, 30), (32, 0, 40), (48, 0, 60), (30, 10, 47.5)]
)
def test_a_continuous_load_counts_125_per_cent(amps, other, design):
    """NEC 210.19(A)(1), 210.20(A): 1.25 x continuous + the rest."""
    assert continuous(amps, other) == design


@pytest.mark.parametrize(
    ("awg", "column", "old", "new"),
    [("14", 60, 20, 15), ("12", 60, 25, 20), ("3", 90, 110, 115), ("1", 90, 150, 145)],
)
def test_four_cells_of_table_310_16_changed_in_2011(awg, column, old, new):
    """Two stored copies; trade pages name the 2011 edition."""
    assert nec_ampacity(awg, column, "NEC 2008") == old
    assert nec_ampacity(awg, column, "NEC 2011") == nec_ampacity(awg, column) == new


def test_no_other_cell_changed():
    """NEC 310.16: 39 cells, four of them twice."""
    changed = [
        (awg, column)
        for awg in AWG
        for column in (60, 75, 90)
        if nec_ampacity(awg, column, "NEC 2005") != nec_ampacity(awg, column, "NEC 2020")
    ]

    assert changed == [("14", 60), ("12", 60), ("3", 90), ("1", 90)]


def test_an_edition_nobody_listed_has_no_figure():
    """An unknown edition is never read as the newest."""
    with pytest.raises(NoFigure, match=r"^no published figure for 8 AWG, column 75 C, NEC 1999$"):
        nec_ampacity("8", 75, "NEC 1999")


def test_in_a_hot_place_and_beside_others():
    """Worked: 12 AWG 75 C at 40 C = 22 A (a wire table's example); 6 AWG 90 C at 40 C, four
    conductors = 54.6 A (310.16 x 310.15(B) x 310.15(C)); 10 mm2 C at 40 C = 49.6 A (a machine
    manual prints 50)."""
    assert nec_carries("12", 75, 40) == 22
    assert nec_carries("6", 90, 40, 4) == 54.6
    assert iec_carries(10, "C", 3, "PVC", 40) == pytest.approx(49.59)


@pytest.mark.parametrize(
    ("area", "ambient", "printed"),
    [(4, 40, 23), (6, 45, 27), (10, 50, 33), (16, 55, 38), (35, 40, 86), (95, 55, 109)],
)
def test_a_machine_manual_derates_the_same(area, ambient, printed):
    """Stored compressor manual, method B2, three loaded, PVC: figures printed whole."""
    assert math.isclose(iec_carries(area, "B2", 3, "PVC", ambient), printed, abs_tol=0.8)


def test_small_conductors_have_a_largest_device():
    """NEC 240.4(D): 15, 20, 30 A for 14, 12, 10 AWG; none above."""
    assert [nec_small(awg) for awg in ("14", "12", "10", "8")] == [15, 20, 30, math.inf]


@pytest.mark.parametrize(
    ("edition", "insulation"),
    [(IEC, "PVC"), (IEC, "XLPE"), *(("NEC 2023", column) for column in (60, 75, 90))],
)
def test_factors_fall_and_end(edition, insulation):
    """More heat and more company never carry more; beyond the table there is no figure."""
    for steps in (ambient_steps(edition, insulation), grouped_steps(edition)):
        assert steps[0][1] == 1
        assert list(steps) == sorted(steps)
        assert [f for _, f in steps] == sorted((f for _, f in steps), reverse=True)
        last = steps[-1][0]
        with pytest.raises(NoFigure) as refused:
            factor(steps, last + 1, "here")
        words = f"no published factor for here {last + 1}; the table ends at {last}"
        assert str(refused.value) == words


def test_between_two_rows_the_harder_one_holds():
    """36 C is judged as 40 C; ten circuits as twelve."""
    assert factor(ambient_steps(IEC, "PVC"), 36, "") == 0.87
    assert factor(grouped_steps(IEC), 10, "") == 0.45


def test_larger_conductors_carry_more():
    """In every column of every table the figures rise with the size; XLPE is above PVC."""
    rows = lookup.table("iec_ampacity").rows
    for method in ("B2", "C"):
        for loaded in (2, 3):
            areas = sorted({float(row["area"]) for row in rows})
            pvc = [ampacity(area, method, loaded) for area in areas]
            xlpe = [ampacity(area, method, loaded, "XLPE") for area in areas]
            assert pvc == sorted(pvc)
            assert all(high > low for high, low in zip(xlpe, pvc, strict=True))
    for column in (60, 75, 90):
        amps = [nec_ampacity(awg, column) for awg in AWG]
        assert amps == sorted(amps)


def test_how_thick_they_are():
    """NEC chapter 9 table 5; EN 50525-2-21 (from memory); common practice."""
    assert insulated("6") == (0.254, 0.0507)
    assert outer("H07RN-F 5G6")[::2] == (17.5, 22.2)
    assert outer("NYY-J 5x6") == (17, 18.5, 20)
    with pytest.raises(NoFigure, match=r"^no published figure for the cable NYY-J 4x6$"):
        outer("NYY-J 4x6")


@pytest.mark.parametrize("awg", AWG)
def test_an_insulated_conductor_is_round(awg):
    """NEC table 5: the area is that of the circle of the diameter, both as printed."""
    across, area = insulated(awg)

    assert math.pi / 4 * across**2 == pytest.approx(area, abs=0.0001)
    assert conductors.insulated(awg)[0] * 25.4 > math.sqrt(4 * awg_area(awg) / math.pi)
