"""What a rule tells to do stands at its step, once, with the places it is done at."""

import json

import jsonschema
import pytest

from kitting.plan import schema, wording
from kitting.plan.errors import FamilyError
from kitting.plan.tasks import Task
from tests.plan.small import edition, work_out

ADDRESS = """
[[rule]]
name = "address"
need = "end the bus"
step = "end"
way = "bus_ends"
plug = "term"
built_in = 1
task = "Set the address switch of the last unit."
"""
DRILLED = """
[[rule]]
name = "plugs"
need = "anchor"
of = "wall"
way = "each"
gives = { plug = 1, screw = 1 }
task = "Blow out each hole."
"""


def test_a_task_is_told_once_with_its_places():
    """Two stacks end two buses: one sentence, both places, its need and its rule."""
    known = edition(without=("ends",), more=ADDRESS)
    found = work_out(known, stacks=[{"modules": 2}, {"modules": 3}])

    assert found.tasks == (
        Task(
            "end",
            "Set the address switch of the last unit.",
            "end the bus: bus",
            "address",
            "stack 1 place 2, stack 2 place 3",
        ),
    )


def test_a_raised_need_tells_its_task_at_the_step_of_its_line():
    """The wall plugs come with the brackets at `fix`; so does what to do with their holes."""
    known = edition(without=("plugs", "screws"), more=DRILLED)

    assert [(task.step, task.need, task.place) for task in work_out(known).tasks] == [
        ("fix", "anchor: wall", "stack 1")
    ]


def test_the_text_shows_a_task_at_its_step():
    """Between the step's cautions and its lines; the place in brackets."""
    known = edition(without=("ends",), more=ADDRESS)
    told = wording.text(known, work_out(known))
    at = told.index("\nend\n")

    assert "  - Set the address switch of the last unit (stack 1 place 2).\n" in told[at:]


def test_a_kit_with_tasks_keeps_its_schema():
    """`tasks` is part of the published shape."""
    known = edition(without=("ends",), more=ADDRESS)
    told = json.loads(json.dumps(work_out(known).as_json()))

    jsonschema.Draft202012Validator(schema.KIT).validate(told)
    assert [task["step"] for task in told["tasks"]] == ["end"]


@pytest.mark.parametrize(
    ("now", "told"),
    [
        ([{"modules": 2}], []),  # nothing changed at this end
        ([{"modules": 3}], ["stack 1 place 3"]),  # the last unit is another one
        ([{"modules": 2}, {"modules": 1}], ["stack 2 place 1"]),
    ],
)
def test_an_expansion_tells_only_what_is_new(now, told):
    """What was done when the stack was built is not done again."""
    known = edition(without=("ends",), more=ADDRESS)
    found = work_out(known, job="expansion", stacks=now, before={"stacks": [{"modules": 2}]})

    assert found.refused == ()
    assert [task.place for task in found.tasks] == told


def test_a_task_needs_a_step():
    """A rule of a need of the stack itself that tells a task says at which step."""
    more = '[[rule]]\nname = "bare"\nneed = "bond"\nway = "built_in"\nwhy = "no"\ntask = "Do it."'

    with pytest.raises(FamilyError) as error:
        edition(without=("no bond",), more=more)

    assert str(error.value) == (
        "small.toml: rule 'bare': step: expected a step for a need of the stack itself, got nothing"
    )
