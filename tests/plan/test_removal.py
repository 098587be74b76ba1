"""Taking down: the list backwards, and everything that stands comes back."""

import pytest

from kitting.plan import configuration, kit, steps
from tests.plan.shipped import NAMES, edition, hand
from tests.plan.small import quantities, work_out


def test_taking_down_brings_back_what_stands():
    """Units, fixings, cable and seals that come off; what is renewed or used up does not."""
    found = work_out(job="removal", stacks=[{"modules": 2}])

    assert quantities(found.comes_back) == {
        ("module", "look"): 2,
        ("bracket", "fix"): 1,
        ("plug", "fix"): 2,
        ("screw", "fix"): 2,
        ("term", "end"): 1,
        ("cable", "connect"): 4000,
        ("g25", "gland"): 1,
        ("nut", "gland"): 1,
    }
    assert quantities(found.lines) == {("driver", "fix"): 1}


def test_the_steps_go_backwards():
    """Covers, switch off, cables, ends, joints, and the wall fixings last."""
    keys = [step.key for step in work_out(job="removal").steps]

    assert keys == [
        *("look", "cover", "down", "seal", "gland", "connect", "end", "join", "fix", "base")
    ]


def test_a_new_job_has_its_covers_last():
    """Units are looked over first, covers come last, and nothing is taken down."""
    keys = [step.key for step in work_out().steps]

    assert (keys[0], keys[-1], "down" in keys) == ("look", "cover", False)


@pytest.mark.parametrize("name", NAMES)
def test_the_steps_of_a_shipped_family_are_all_there(name):
    """Every step of the trade's order is worded by both families, each with a task."""
    known = edition(name)

    assert [step.key for step in known.steps] == list(steps.ORDER)
    assert all(step.tasks for step in known.steps)


@pytest.mark.parametrize("name", NAMES)
def test_every_unit_comes_back(name):
    """The serial-numbered lines of a new job are the ones that come back from a removal."""
    known = edition(name)
    for given in hand(name).values():
        if given["job"] != "new" or "unknown" in given.values():
            continue
        new = kit.work_out(known, configuration.parse(given, known))
        down = kit.work_out(known, configuration.parse({**given, "job": "removal"}, known))
        serial = {k: q for k, q in quantities(new.lines).items() if _serial(known, k)}
        back = {k: q for k, q in quantities(down.comes_back).items() if _serial(known, k)}
        assert serial == back
        assert serial


def _serial(known, key):
    return known.items[key[0]].tracking == "serial"
