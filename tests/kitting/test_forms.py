"""The planning form: which questions it asks, and what it makes of the answers."""

import pytest

from kitting import families, packing
from kitting.change_forms import HandForm
from kitting.forms import JobForm
from kitting.models import FamilyEdition
from kitting.plan.axes import Axis
from kitting.questions import base_units, modules_of, turned, wanted
from tests.kitting.yard import Yard


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("4, 4", [4, 4]),
        ("3", [3]),
        ("2;3 1", [2, 3, 1]),
        ("", []),
        ("two", []),
        ("-1", []),
        ("4.5", []),
        ("9999", []),  # nobody stacks a thousand; a slip of the hand
    ],
)
def test_stacks_are_numbers(text: str, numbers: list[int]) -> None:
    """Anything else is no answer."""
    assert modules_of(text) == numbers


@pytest.mark.parametrize(
    ("turn", "stacks"),
    [
        ("stacks 1 +", "5, 2"),
        ("stacks 2 -", "4, 1"),
        ("stacks add", "4, 2, 2"),  # same as the one before
        ("stacks drop", "4"),
        ("stacks 3 +", "4, 2"),  # there is no third
        ("site 1 +", "4, 2"),  # not counted
        ("stacks", "4, 2"),
        ("stacks 1 *", "4, 2"),
    ],
)
def test_a_press_turns_one_count(turn: str, stacks: str) -> None:
    """Without a script each press is sent; anything else changes nothing."""
    assert turned({"stacks": "4, 2", "before": ""}, turn)["stacks"] == stacks


def test_a_stack_keeps_one_module() -> None:
    """Neither the last module nor the last stack can be pressed away."""
    assert turned({"stacks": "1"}, "stacks 1 -") == {"stacks": "1"}
    assert turned({"stacks": "1"}, "stacks drop") == {"stacks": "1"}


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("length", "4200", 4200),
        ("length", "4.2 m", 4200),
        ("length", "4,2m", 4200),
        ("length", "4.2", 4200),  # mm are whole: a decimal is in metres
        ("length", "4,000", 4000),  # whether thousands or metres are meant, it is the same
        ("length", "420 cm", 4200),
        ("length", "4200 MM", 4200),
        ("length", "4.20005", None),  # finer than a mm
        ("length", "4.2.1", None),
        ("length", "4 ft", None),
        ("length", "-4", None),
        ("whole", "4 m", None),
        ("diameter", "12.5", 125),
        ("diameter", "12,5", 125),
        ("diameter", "12.55", None),  # finer than the list
        ("diameter", "unknown", "unknown"),
        ("length", "NaN", None),
        ("length", "1e3", None),
        ("diameter", "12.5 mm", 125),
        ("length", "", None),
        ("choice", "solid", "solid"),
    ],
)
def test_a_measure_becomes_base_units(kind: str, text: str, value: object) -> None:
    """Diameters are given in mm and kept in tenths."""
    axis = Axis("x", "How?", kind, ("solid",), 0, 90000, unknown=True, when=())

    assert base_units(axis, text) == value


def test_a_diameters_range_is_told_in_the_units_asked_for() -> None:
    """Tenths stay inside."""
    axis = Axis("d", "How thick?", "diameter", (), 80, 240, unknown=True, when=())

    assert wanted(axis) == "8 mm to 24 mm, or not known yet"


def test_only_questions_that_arise_are_asked(yard: Yard) -> None:
    """One stack has no gap, two have; a solid wall asks for its covering."""
    edition = FamilyEdition.objects.get()
    known = {edition.name: families.family_of(edition)}

    def asked(**given: str) -> set[str]:
        form = JobForm(known, initial={"family": edition.name, **given})
        return {axis.name for axis in form.asked()}

    assert "gap" not in asked(stacks="2")
    assert "gap" in asked(stacks="2, 2")
    assert "covering" in asked(stacks="2", about_wall="solid")
    assert "covering" not in asked(stacks="2", about_wall="timber")


@pytest.mark.parametrize(
    ("code", "text", "quantity"),
    [
        ("CT-AC4", "4.0", None),  # metres to who typed it, 4 mm to a machine
        ("CT-AC4", "4", None),
        ("CT-AC4", "4.0 m", 4000),
        ("CT-AC4", "42 cm", 420),
        ("CT-AC4", "4200 mm", 4200),
        ("CT-AC4", "2 x 3 m + 1.5 m", 7500),
        ("CT-AC4", "2 x 3 + 1.5 m", None),
        ("CT-BOLT6", "4", 4),
    ],
)
def test_a_length_typed_without_its_unit_is_refused(
    yard: Yard, code: str, text: str, quantity: int | None
) -> None:
    """Metres or mm is never guessed; pieces need no unit."""
    job = yard.job()
    packing.work_out_kit(job, yard.mona.person)
    line = job.kit.lines.filter(item__code=code).first()
    assert line is not None
    given = {"verb": "change", "item": line.item.code, "step": line.step, "reason": "measured"}
    form = HandForm(job, {**given, "quantity": text})

    assert form.is_valid() is (quantity is not None), form.errors
    assert form.cleaned_data["quantity"] == quantity
    if quantity is None:
        wanted = "a number and its unit as 12 m or 12 cm or 12 mm"
        assert form.errors["quantity"] == [
            f"How many there shall be: expected {wanted}, got {text!r}"
        ]
