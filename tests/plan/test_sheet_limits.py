"""The limits of the two prose sheets (section 3), each at its edge and all at once."""

import json
from functools import cache
from pathlib import Path

import pytest

from kitting.plan import configuration, family, kit

FAMILIES = Path(__file__).parents[2] / "fixtures" / "families"


@cache
def edition(name):
    path = FAMILIES / f"{name}.toml"
    return family.parse(path.read_text(encoding="utf-8"), path.name)


def work_out(name, stacks, **changes):
    """The first hand-worked kit's configuration, changed; None takes an answer out."""
    given = json.loads((FAMILIES / f"{name}.hand.json").read_text(encoding="utf-8"))
    base = given[f"{name[0].upper()}01"]
    told = {**base, "stacks": [{"modules": n} for n in stacks], **changes}
    told = {key: value for key, value in told.items() if value is not None}
    return kit.work_out(edition(name), configuration.parse(told, edition(name)))


AERATED = {"wall": "aerated", "covering": None}
TIMBER = {"wall": "timber", "stud_pitch": "406", "layers": None}
EDGES = [
    ("tower", [2, 2], {"gap": 50}, set()),
    ("tower", [2, 3], {"gap": 50}, {"L1"}),
    ("tower", [4], {"mount": "wall"}, set()),
    ("tower", [5], {"mount": "wall"}, {"L2", "L7"}),
    ("tower", [5, 5, 5], {"gap": 2200}, set()),
    ("tower", [6, 6, 6], {"gap": 2200}, {"L3"}),
    ("tower", [2], {**AERATED}, set()),
    ("tower", [2], {**AERATED, "mount": "wall"}, {"L4"}),
    ("tower", [1], {"ac_way": "conduit", "ac_od": 186}, set()),
    ("tower", [1], {"ac_way": "conduit", "ac_od": 187}, {"L5"}),
    ("tower", [5, 4], {**AERATED, "mount": "wall", "gap": 90}, {"L1", "L2", "L4", "L7"}),
    ("row", [5, 7], {"row_gap": 300, "rev": "R2"}, set()),
    ("row", [5, 8], {"row_gap": 300, "rev": "R2"}, {"K1"}),
    ("row", [4], {"mount": "wall"}, set()),
    ("row", [5], {"mount": "wall"}, {"K2"}),
    ("row", [2], {**TIMBER}, set()),
    ("row", [2], {**TIMBER, "mount": "wall"}, {"K3"}),
    ("row", [7, 7], {"row_gap": 300, "rev": "R2"}, set()),
    ("row", [7, 8], {"row_gap": 300, "rev": "R2"}, {"K4"}),
    ("row", [2, 2], {"row_gap": 300, "rev": "R1"}, {"K5"}),
    ("row", [8, 5], {**TIMBER, "mount": "wall", "row_gap": 300}, {"K1", "K2", "K3", "K5"}),
]


@pytest.mark.parametrize(("name", "stacks", "changes", "broken"), EDGES)
def test_a_limit_holds_at_its_edge_and_breaks_beyond(name, stacks, changes, broken):
    """Every broken limit of the sheet is told, and nothing else; a refused kit has no lines."""
    found = work_out(name, stacks, **changes)
    assert {refusal.rule for refusal in found.refused} == broken
    assert bool(found.lines) is not bool(broken)


def test_an_unknown_diameter_in_conduit_is_settled_first():
    """A limit that hangs on an unknown answer holds the kit back instead of being guessed."""
    found = work_out("tower", [1], ac_way="conduit", ac_od="unknown")
    assert not found.refused
    (question,) = found.unresolved
    assert question.axis == "ac_od"
    assert question.first
    assert "L5" in question.first[0] or "18.6 mm" in question.first[0]
