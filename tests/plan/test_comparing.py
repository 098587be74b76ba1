"""Two kits side by side, told step by step; checked by hand against tower.md."""

from kitting.plan import comparing, configuration, kit
from kitting.plan.comparing import Changed, Side
from tests.plan.shipped import edition, hand


def side(name="tower", key="T01", **changes):
    known = edition(name)
    given = {**hand(name)[key], **changes}
    found = kit.work_out(known, configuration.parse(given, known))
    return Side(known, found.configuration, found.lines, found.steps)


def compared(**changes):
    return comparing.of(side(), side(**changes))


def test_one_module_more_is_told_where_it_counts():
    """From one module to two: rule R9 has 5 screws for one and 9 for two."""
    found = compared(stacks=[{"modules": 2}])
    rows = {(step.title, row.item): row for step in found.steps for row in step.rows}
    screws = rows["Fix", "CT-SCREW5"]

    assert found.answers == (Changed("Modules in each stack", "1", "2"),)
    assert (screws.was, screws.now) == ("5", "9")
    assert screws.because_was == (
        (
            "5 for holding the stack to the building (bracket screws), stack 1: the parts list has"
            " 5 for 1 module (parts list, rule R9)"
        ),
    )
    assert screws.because_now[0].endswith(
        "the parts list has 9 for 2 modules (parts list, rule R9)"
    )
    assert next(step.title for step in found.steps) == "Look over"
    assert "Labels" not in [step.title for step in found.steps]  # one set, whatever the stack


def test_a_cable_is_compared_piece_by_piece():
    """Another length is another piece: the old one is not what is wanted now."""
    run = side().configuration["earth_run"]
    found = compared(earth_run=run + 1500)
    (row,) = [row for step in found.steps for row in step.rows]
    metres = (run + 600) / 1000

    assert (row.was, row.now) == (f"{metres:g} m", f"{metres + 1.5:g} m")
    assert [net.item for net in found.difference.to_pick()] == ["CT-PE10"]
    assert found.answers[0].question == "How long is the way of the earth conductor?"
    assert found.answers[0].now == f"{run + 1500} mm"


def test_what_one_side_has_alone_says_why_on_that_side():
    """Outside a stack has gaskets (R73); inside it has none."""
    found = compared(place="outdoor", vehicle="none")
    row = next(row for step in found.steps for row in step.rows if row.item == "CT-GASKET")

    assert (row.was, row.because_was) == ("", ())
    assert row.because_now[0].startswith("2 for keeping water out between units (gasket)")
    assert Changed("Is it in the path of a vehicle?", "not asked", "none") in found.answers


def test_the_same_twice_is_nothing():
    assert not compared()


def test_two_systems_are_told_apart_in_their_parts_lists():
    """Nothing of the one is an item of the other."""
    found = comparing.of(side(), side("row", "R01"))

    assert found.answers[0].question == "Parts list"
    assert found.answers[0].now.startswith("Lintel Row")
    assert all(not (row.was and row.now) for step in found.steps for row in step.rows)
