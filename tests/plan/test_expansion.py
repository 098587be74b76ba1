"""What an expansion takes and frees, need by need."""

import pytest

from kitting.plan import configuration, expansion, family, kit
from kitting.plan.needs import NEEDS
from tests.plan.small import edition, quantities, text, work_out


def expand(old, new, known=None, before=None, **answers):
    stood = {"stacks": [{"modules": modules} for modules in old], **(before or {})}
    stacks = [{"modules": modules} for modules in new]
    return work_out(known, job="expansion", stacks=stacks, before=stood, **answers)


def test_an_expansion_takes_what_changed():
    """One module more: a module, and a joint seal besides the one that was opened."""
    found = quantities(expand([1], [2]).lines)

    assert found == {("module", "look"): 1, ("seal", "join"): 2, ("driver", "fix"): 1}


def ended(head, plugs=1):
    """The small family whose bus ends in the head, or in the last module."""
    whole = text().replace("link_with_head = true", f"link_with_head = {str(head).lower()}")
    return family.parse(whole.replace("built_in = 1", f"built_in = {2 - plugs}"), "small.toml")


@pytest.mark.parametrize("plugs", [1, 2])
def test_the_end_plug_moves(plugs):
    """The far end of the bus is one level higher now: its plug goes along, the other end's stays,
    none is bought."""
    found = expand([1], [3], ended(False, plugs))

    assert [(m.item, m.from_place, m.to_place) for m in found.moves] == [
        ("term", "stack 1 place 1", "stack 1 place 3")
    ]
    assert ("term", "end") not in quantities(found.lines)


@pytest.mark.parametrize("plugs", [1, 2])
def test_no_plug_moves_where_the_bus_ends_in_the_head(plugs):
    """The head is on top before and after, and the foot is where it was."""
    found = expand([1], [3], ended(True, plugs))

    assert found.moves == ()
    assert "term" not in {line.item for line in (*found.lines, *found.comes_back)}


def test_a_plug_that_is_not_marked_for_reuse_comes_back():
    """Without `reuse` a new plug is taken and the old one comes back."""
    single = family.parse(text().replace("reuse = true", "reuse = false"), "small.toml")
    found = expand([1], [2], single)

    assert quantities(found.lines)["term", "end"] == 1
    assert quantities(found.comes_back) == {("term", "end"): 1}


def test_a_longer_run_is_one_new_piece():
    """From 4 m to 6 m: a piece of 6 m is taken and the one of 4 m comes back, never 2 m more."""
    found = expand([2], [2], before={"run": 4000}, run=6000)
    line = next(line for line in found.lines if line.item == "cable")

    assert (line.quantity, line.pieces) == (6000, (6000,))
    assert [(back.item, back.pieces) for back in found.comes_back] == [("cable", (4000,))]


def test_nothing_changed_takes_only_the_tools():
    """The same stack before and after: the work's tools and nothing that stays."""
    assert quantities(expand([2], [2]).lines) == {("driver", "fix"): 1}


def test_a_thinner_cable_frees_its_gland():
    """The gland of the thick cable comes back, the thin one's gland and reducer are taken."""
    found = expand([2], [2], before={"od": 130}, od=90)

    assert quantities(found.comes_back) == {("g25", "gland"): 1}
    assert quantities(found.lines) == {
        ("g20", "gland"): 1,
        ("reducer", "gland"): 1,
        ("driver", "fix"): 1,
    }


def test_the_reason_tells_what_stands():
    """The arithmetic of a line says what is needed and what is there."""
    line = next(line for line in expand([1], [3]).lines if line.item == "module")

    assert line.reasons[0].arithmetic == "stack 1: 3 modules; 3 needed - 1 standing = 2"


def standing(known, data):
    """item -> quantity of what stands."""
    found = configuration.parse(data, known)
    total = {}
    for entry in expansion.standing(known, found):
        total[entry.item] = total.get(entry.item, 0) + entry.quantity
    return total


@pytest.mark.parametrize(
    ("old", "new"),
    [([1], [2]), ([2], [3]), ([3], [1]), ([2], [2, 2]), ([1, 1], [3, 3]), ([3], [3])],
)
def test_nothing_is_lost_over_an_expansion(old, new):
    """kit(old) + lines = kit(new) + comes back + renewed, item by item, for what stands."""
    known = edition()
    found = expand(old, new)
    usual = {"family": "small", "wall": "brick", "od": 130, "run": 4000}
    was = standing(known, {**usual, "stacks": [{"modules": m} for m in old]})
    will = standing(known, {**usual, "stacks": [{"modules": m} for m in new]})

    for code in known.items:
        taken, back, renewed = (
            sum(line.quantity for line in lines if line.item == code and stays(line))
            for lines in (found.lines, found.comes_back, found.renewed)
        )
        assert was.get(code, 0) + taken == will.get(code, 0) + back + renewed, code


def stays(line):
    """Whether a line is for something that stays at the site."""
    return NEEDS[line.reasons[0].need.split(":")[0]].kind not in ("work", "removal")


def test_the_engine_has_no_second_kit_of_an_expansion():
    """The same input gives the same kit."""
    known = edition()
    data = configuration.parse(
        {
            "family": "small",
            "wall": "brick",
            "od": 130,
            "run": 4000,
            "job": "expansion",
            "stacks": [{"modules": 3}],
            "before": {"stacks": [{"modules": 1}]},
        },
        known,
    )

    assert kit.work_out(known, data).as_json() == kit.work_out(known, data).as_json()
