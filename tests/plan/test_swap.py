"""A unit is swapped: a new one, the seals of what was opened, and the old one back."""

from collections import Counter

import pytest

from kitting.plan import configuration, expansion, family, kit
from kitting.plan.needs import NEEDS
from tests.plan.shipped import NAMES, edition, hand
from tests.plan.small import quantities, text, work_out

CHARGE = "[charge]\nmatch_percent = 5\njoin_low = 25\njoin_high = 35\n"


def swapped(*places, known=None, modules=3, **answers):
    asked = [{"stack": stack, "level": level} for stack, level in places]
    return work_out(known, job="swap", stacks=[{"modules": modules}], swap=asked, **answers)


def test_a_swap_takes_the_unit_and_the_seals_of_what_is_opened():
    """Three modules, the second swapped: of four joints the lowest stays shut. Worked by hand."""
    found = swapped((1, 2))

    assert quantities(found.lines) == {
        ("module", "look"): 1,
        ("driver", "fix"): 1,
        ("seal", "join"): 3,
    }
    assert quantities(found.comes_back) == {("module", "look"): 1}
    assert quantities(found.renewed) == {("seal", "join"): 3}
    assert found.lines[0].reasons[0].arithmetic == "stack 1 place 2 is swapped"


@pytest.mark.parametrize(("level", "opened"), [(1, 4), (2, 3), (3, 2)])
def test_the_lower_the_unit_the_more_joints_are_opened(level, opened):
    """From the swapped unit up everything comes off: its own joint and all above it."""
    assert quantities(swapped((1, level)).lines)["seal", "join"] == opened


def test_two_units_of_one_stack_open_it_once():
    """The lowest of them decides what is opened; both are new."""
    found = quantities(swapped((1, 2), (1, 3)).lines)

    assert (found["module", "look"], found["seal", "join"]) == (2, 3)


def test_a_place_that_holds_no_unit_of_the_list_is_refused():
    """The small family has no head: the place above the modules holds nothing to swap."""
    found = swapped((1, 4))

    assert [refusal.rule for refusal in found.refused] == ["swap"]
    assert "stack 1 place 4" in found.refused[0].message


def test_it_is_switched_off_before_anything_is_opened():
    """Order of the steps, and what is told on the way."""
    found = swapped((1, 2))

    assert [step.key for step in found.steps][:3] == ["look", "down", "base"]
    assert [task.place for task in found.tasks] == ["stack 1"]
    assert {"swap", "swap_charge"} <= {caution.key for caution in found.cautions}


def test_what_an_answer_would_change_elsewhere_is_not_asked():
    """The cable's thickness matters to its gland, which a swap leaves alone."""
    assert swapped((1, 2), od="unknown").unresolved == ()


def test_a_new_module_meets_the_charge_of_those_that_stand():
    """Told where a module joins others, and for which stacks; of a new stack nothing is."""
    known = family.parse(text(more=CHARGE), "small.toml")
    grown = work_out(known, job="expansion", stacks=[{"modules": 3}], before=BEFORE)
    new = work_out(known)

    for found in (swapped((1, 2), known=known), grown):
        assert found.charge == known.charge
        assert [task.place for task in found.tasks if task.rule == "charge"] == ["stack 1"]
    assert (new.charge, new.tasks) == (None, ())


BEFORE = {"stacks": [{"modules": 2}]}


def test_a_charge_far_off_is_told_with_what_was_expected():
    """Outside the window, or too far from a neighbour; both ends of the window may be joined."""
    window = family.parse(text(more=CHARGE), "small.toml").charge

    assert window.fault(25, (30,)) == window.fault(35, (30,)) == ""
    assert window.fault(24, ()) == "expected 25 % to 35 %, got 24 %"
    assert window.fault(33, (30, 27)) == "expected within 5 percentage points of 27 %, got 33 %"


@pytest.mark.parametrize("name", NAMES)
def test_what_stands_after_a_swap_is_what_stood(name):
    """Stands + lines that stay = stands + comes back + renewed, at every place of every stack."""
    known = edition(name)
    walked = 0
    for given in hand(name).values():
        if given.get("job", "new") != "new":
            continue
        for stack, held in enumerate(given["stacks"], 1):
            for level in range(1, held["modules"] + 1):
                place = {"stack": stack, "level": level}
                asked = configuration.parse({**given, "job": "swap", "swap": [place]}, known)
                found = kit.work_out(known, asked)
                stays = _sums(line for line in found.lines if _stays(line))
                assert stays == _sums([*found.comes_back, *found.renewed]), (given, place)
                stands = expansion.standing(known, asked)
                assert stays <= Counter(_entries(stands)), (given, place)
                walked += 1
    assert walked >= 20


def _entries(entries):
    found = Counter()
    for entry in entries:
        found[entry.item, entry.step] += entry.quantity
    return found


def _stays(line):
    return all(
        reason.rule == "swap" or NEEDS[reason.need.split(":")[0]].kind not in ("work", "removal")
        for reason in line.reasons
    )


def _sums(lines):
    sums = Counter()
    for line in lines:
        sums[line.item, line.step] += line.quantity
    return sums
