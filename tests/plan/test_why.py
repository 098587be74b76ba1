"""Why so many of an item, or why none: sums and sentences, checked by hand against tower.md."""

import pytest

from kitting.plan import configuration, kit, why, why_not, wording
from kitting.plan.lines import Line, Reason
from kitting.plan.needs import NEEDS
from kitting.plan.steps import Step
from tests.plan.shipped import NAMES, edition, hand

WALL = {
    "family": "tower",
    "job": "new",
    "stacks": [{"modules": 4}, {"modules": 4}],
    "mount": "wall",
    "wall": "solid",
    "covering": 12,
    "place": "outdoor",
    "vehicle": "path",
    "restraint": "required",
    "head_rev": "A",
    "entry_side": "left",
    "gap": 300,
    "ac_way": "conduit",
    "ac_run": 4200,
    "ac_od": 125,
    "data_run": 6000,
    "data_od": 62,
    "earth_run": 2500,
}


def asked(item, name="tower", **changes):
    """Why a kit on a solid outside wall has so many of an item."""
    known = edition(name)
    given = configuration.parse({**WALL, **changes}, known)
    return why.explain(known, given, kit.work_out(known, given), item)


def text(item, **changes):
    return wording.why_text(edition("tower"), asked(item, **changes))


def test_a_table_is_told_as_the_sheet_has_it():
    """Rule R10 of tower.md: 22 screws for a stack of four on the wall, two stacks alike."""
    assert text("CT-SCREW5") == (
        "Corbel Tower, parts list of 2026-11-03\n"
        "\n"
        "44 screw M5x12 with washer (CT-SCREW5)\n"
        "Fix: 44\n"
        "  2 x 22 for holding the stack to the building (bracket screws), stack 1 and stack 2:"
        " the parts list has 22 for 4 modules (parts list, rule R10)\n"
        "      counted by table; tower.md, R10\n"
        "      the rule holds because:"
        " Does the tower stand on the floor or hang on the wall? wall\n"
        "  2 x 22 = 44\n"
    )


def test_what_comes_with_something_else_says_why_that_is_there():
    """M6 bolts hold straps and clamps: two each, at two steps, and each of these says why."""
    found = asked("CT-BOLT6")

    assert [step.sum for step in found.steps] == ["2 x 4 = 8", "2 x 10 + 2 x 10 = 40"]
    assert found.sum == "8 + 40 = 48"
    assert [parent.item for parent in found.chain] == ["CT-STRAP", "CT-CLAMP-L", "CT-CLAMP-R"]
    assert found.chain[1].answer == (
        "10 joint clamp, left because 2 x 5 for joining one unit to the next (left), stack 1 and"
        " stack 2: 4 modules + 1 = 5 joints (parts list, rule R26)."
    )
    washers = [parent.item for parent in asked("CT-WASH6").every_parent()]
    assert washers == ["CT-BOLT6", "CT-STRAP", "CT-CLAMP-L", "CT-CLAMP-R"]


def test_places_of_the_bus_are_named():
    """Revision A has no end inside: two plugs a stack; one of the system's two is built in."""
    found = asked("CT-TERMW")

    assert found.steps[0].sum == "2 x 2 + 1 = 5"
    assert found.steps[0].parts[0].places == ("stack 1 place 4", "stack 2 place 4")
    assert [answer.answer for answer in found.steps[0].parts[0].rests_on] == ["outdoor", "A"]


def test_sealant_is_told_in_millilitres():
    """6 x 4 mm section, 2 x 620 + 8 x 680 mm of seam, 15 % more: 184.368 ml, and three entries."""
    found = asked("CT-SEALANT")

    assert found.steps[0].sum == "184.368 ml + 2.691 ml + 1.863 ml + 1.553 ml = 190.475 ml"
    assert "24 mm2 x (620 x 2 + 680 x 8) mm x 1.15 with waste" in found.answer


def test_a_box_that_brings_some_is_named():
    """The power unit's box holds two port blanks; the kit wants one."""
    found = asked("CT-PBLANK")

    assert [(box.item, box.quantity) for box in found.boxes] == [("CT-POWER", 2)]
    assert "In a box: 2 come in the box of power unit" in text("CT-PBLANK")


def test_tools_say_the_step_as_the_family_calls_it():
    assert "1 for the tools of the step (Look over): one for the whole job" in text("CT-METER")
    assert "for the tools of the step (Fix: bit)" in text("CT-BIT10")


def test_a_condition_that_does_not_hold_is_named_with_what_stands_instead():
    """Five or six modules want the hoist (R87); four do not."""
    assert asked("CT-HOIST").missing == (
        (
            "Rule R87 gives stack hoist for lifting the units only with 5 to 6 modules (here 4"
            " modules)."
        ),
    )
    assert asked("CT-TIEPL").missing == (
        (
            "Rule R28 gives tie plate between stacks for tying neighbouring stacks together"
            " only where"
            ' the answer to "How wide is the gap between neighbouring stacks?" is 50 mm to'
            " 150 mm (it"
            " is 300 mm)."
        ),
    )


def test_what_hangs_on_another_thing_is_followed_up():
    """No levelling foot, as there is no base; no base, as it hangs on the wall."""
    assert text("CT-FOOT").splitlines()[2:] == [
        "levelling foot (CT-FOOT) is not on this list.",
        (
            "  Rule R6 gives levelling foot for setting it level (foot); it comes with base,"
            " and this"
            " kit does not take it."
        ),
        (
            "  Rule R4 gives base for standing level on its foot only where the answer to"
            ' "Does the tower stand on the floor or hang on the wall?" is floor (it is wall).'
        ),
    ]


def test_what_was_taken_instead_is_named():
    """A covering of 12 mm wants the shorter anchor: up to 15 mm."""
    assert asked("CT-ANCH105").missing == (
        (
            "For holding in the wall or floor (wall) rule R17-R18 takes expansion anchor"
            " M8x75 instead:"
            " 1 wall shelf x 6 = 6; covering 12 lies in 0 to 15 of expansion anchor M8x75."
        ),
    )


def test_one_stack_has_nothing_beside_it():
    one = {"stacks": [{"modules": 4}]}
    given = {key: value for key, value in WALL.items() if key != "gap"} | one
    known = edition("tower")
    parsed = configuration.parse(given, known)

    assert why_not.reasons(known, parsed, "CT-LINK") == (
        (
            "Rule R3 gives link head for the unit on top of, or at the end of, each stack"
            " (link head)"
            " only where stacks stand beside one another (here 1 stack)."
        ),
    )
    assert why_not.reasons(known, parsed, "CT-TCAP")[0].endswith("only when a stack is taken down.")


def test_a_question_left_open_is_why():
    """Without the cable's diameter no gland is chosen yet."""
    known = edition("tower")
    given = configuration.parse({**WALL, "ac_way": "clipped", "ac_od": "unknown"}, known)

    assert (
        "Rule R59 hangs on a question that is not answered yet:"
        ' "What is the mains cable\'s diameter as measured?"'
    ) in why_not.reasons(known, given, "CT-G25")


def test_what_stands_and_stays_is_no_gap():
    """A third module takes no power unit: it stands there."""
    before = {key: value for key, value in WALL.items() if key not in ("family", "job")}
    changes = {"job": "expansion", "before": {**before, "stacks": [{"modules": 3}, {"modules": 3}]}}

    assert asked("CT-POWER", **changes).missing[0] == (
        "1 power unit stand there already, and this job changes none of them."
    )
    assert asked("CT-MODULE", **changes).steps[0].sum == "2 x 1 = 2"


def test_spares_and_changes_by_hand_have_their_say():
    """A spare and a hand's figure stand beside the parts list's, each with its own words."""
    known = edition("tower")
    given = configuration.parse(WALL, known)
    line = next(one for one in kit.work_out(known, given).lines if one.item == "CT-SCREW5")
    spare = Reason("spare", "spares by risk", "2 lost of 40; with 1 more it is enough", "", 1)
    hand_made = Reason("by hand", "hand", "44 by the parts list, 50 by hand: long screws", "")
    lines = [
        Line(**{**_fields(line), "quantity": 50, "reasons": (*line.reasons, hand_made)}),
        Line(**{**_fields(line), "quantity": 1, "step": "spare", "reasons": (spare,)}),
    ]
    steps = [*known.steps, Step("spare", "Spares", ())]
    found = why.of(known, given.site(), lines, steps, "CT-SCREW5")

    assert found.sum == "50 + 1 = 51"
    assert found.answer.endswith("; 1 spare: 2 lost of 40.")
    assert found.steps[0].sum == ""  # 44 by the list are not 50
    assert [part.sentence for step in found.steps for part in step.parts][1:] == [
        "by hand: 44 by the parts list, 50 by hand: long screws",
        "1 spare: 2 lost of 40; with 1 more it is enough",
    ]


def _fields(line):
    return {name: getattr(line, name) for name in line.__dataclass_fields__}


def test_an_item_nobody_lists_is_said_with_what_comes_near():
    known = edition("tower")

    assert why_not.code_of(known, " ct-bracket ") == "CT-BRACKET"
    assert why_not.code_of(known, "Wall Bracket") == "CT-BRACKET"
    assert why_not.code_of(known, "CT-BRACKTS") == ""
    assert why_not.unlisted(known, "CT-BRACKTS").startswith(
        "CT-BRACKTS is not in the parts list of 2026-11-03 for Corbel Tower."
        " Near to it: wall bracket (CT-BRACKET)"
    )


CASES = [(name, key) for name in NAMES for key in hand(name)]


@pytest.mark.parametrize(("name", "key"), CASES)
def test_every_item_has_an_answer_and_every_sum_comes_out(name, key):
    """Reasons add up to their line; what is not on the list says why, item by item."""
    known = edition(name)
    given = configuration.parse(hand(name)[key], known)
    found = kit.work_out(known, given)
    once = {rule.name for rule in known.rules if rule.once}
    on_list = set()
    for line in found.lines:
        on_list.add(line.item)
        plain = sum(r.quantity for r in line.reasons if r.rule not in once)
        single = max((r.quantity for r in line.reasons if r.rule in once), default=0)
        assert line.quantity == plain + single, line
    for item in known.items:
        told = why.explain(known, given, found, item)
        assert (told.quantity > 0) == (item in on_list)
        assert told.steps or told.missing, item
        for part in (part for step in told.steps for part in step.parts):
            assert part.need in NEEDS
            assert part.sentence.endswith(f"(parts list, rule {part.rule})")
