"""One sheet of old job lists becomes a trial edition; what is open is asked back in plain words.

The layout of the sheet is our own; the quantities below are worked out by hand from the rows
(common practice, no source).
"""

import datetime as dt
import random
from contextlib import suppress

import pytest

from kitting.plan import asking, configuration, drafting, first_hour, kit, proof
from kitting.plan.first_hour import Page, SheetError
from kitting.plan.needs import NEEDS, RAISED
from tests.plan.small import quantities

HEADINGS = (
    *("Item code", "Name", "Followed", "For", "Step", "In the box of", "Weight (g)"),
    *("2 modules", "3 modules", "4 modules", "per module", "per joint", "per stack", "per gap"),
    *("per entry", "per metre", "per job"),
)
DAY = dt.date(2026, 11, 25)


def row(code, name, purpose, followed="", step="", box="", by=("", "", ""), **per):
    """One row; `per_stack=4` fills that column."""
    cells = {"Item code": code, "Name": name, "Followed": followed, "For": purpose, "Step": step}
    cells |= {"In the box of": box, "2 modules": by[0], "3 modules": by[1], "4 modules": by[2]}
    cells |= {key.replace("_", " "): value for key, value in per.items()}
    return tuple(cells.get(heading, "") for heading in HEADINGS)


ROWS = (
    row("MOD", "battery module", "the battery modules themselves", per_module=1),
    row("HEAD", "head", "place head", per_stack=1),
    row("BRA", "bracket", "Holding the stack to the building", by=(2, 3, 5)),
    row("SCR", "screw 6 x 60", "fix to wall", followed="batch", by=("12", 17.0, 25)),
    row("TOP", "top strap", "fix to wall", by=(0, 0, 1)),
    row("FOOT", "foot", "standing level on its foot", box="HEAD x 2", per_stack=4),
    row("CLAMP", "clamp", "join units", per_joint=2),
    row("LEAD", "power lead", "power from unit to unit", per_joint=1),
    row("TIE", "tie bar", "tie stacks", per_gap=2),
    row("CAB", "cable 6 mm2", "Which power cable is run?", followed="metre", per_metre=1),
    row("FER", "ferrule", "run power", followed="used up", per_job=6),
    row("ECAB", "earth conductor", "the earth conductor", followed="metre", per_metre=1),
    row("CLIP", "clip", "support cable", per_metre=3),
    row("GLA", "gland", "enter cable", per_entry=1),
    row("NUT", "locknut", "enter cable", per_entry=2),
    row("TAPE", "tape", "seal entry", per_job=1),
    row("DRILL", "drill", "tools", followed="tool", step="fix", per_job=1),
    row("END", "end plug", "end the bus", per_stack=1),
    row("PLUG", "hole plug", "blank entry", per_stack=2),
    row("not wanted", "meter and stack talk by radio", "run data"),
)


def read(*rows, file="jobs.xlsx"):
    return first_hour.read([Page("Items", (HEADINGS, *rows))], file)


def drafted(*rows):
    return drafting.draft(read(*rows), name="tower2", title="Tower two", edition=DAY)


def given(*modules, **lengths):
    stacks = [{"modules": count} for count in modules]
    asked = {"power_cable": 4200, "earth_cable": 2000, **lengths}
    return {"family": "tower2", "job": "new", "stacks": stacks, **asked}


@pytest.fixture(scope="module")
def made():
    return drafted(*ROWS)


def test_two_stacks_take_what_the_rows_say(made):
    """3 and 4 modules: joints with foot and head 4 + 5, leads 3 + 4, started metres 5 + 2, ..."""
    found = kit.work_out(made.family, configuration.parse(given(3, 4), made.family))
    expected = {
        ("MOD", "join"): 7,
        ("HEAD", "join"): 2,
        ("BRA", "fix"): 3 + 5,
        ("SCR", "fix"): 17 + 25,
        ("TOP", "fix"): 1,
        ("FOOT", "base"): 8,
        ("CLAMP", "join"): 2 * (4 + 5),
        ("LEAD", "join"): 3 + 4,
        ("TIE", "fix"): 2,
        ("CAB", "connect"): 4200,
        ("FER", "connect"): 6,
        ("ECAB", "earth"): 2000,
        ("CLIP", "connect"): 3 * (5 + 2),
        ("GLA", "gland"): 2,
        ("NUT", "gland"): 4,
        ("TAPE", "seal"): 1,
        ("DRILL", "fix"): 1,
        ("END", "end"): 2,
        ("PLUG", "gland"): 4,
    }

    assert found.refused == ()
    assert expected == quantities(found.lines)
    assert "check yourself: how is it earthed?" in [one.question for one in found.unresolved]
    assert {"jobs.xlsx: Items row 4"} == {
        reason.source for line in found.lines if line.item == "BRA" for reason in line.reasons
    }
    assert made.family.items["HEAD"].carton == {"FOOT": 2}
    assert made.family.items["MOD"].tracking == "serial"


def test_every_question_is_one_that_the_check_finds_open_and_none_is_missing(made):
    """The needs asked back are those of the proof's faults, and every fault is an open need."""
    faults = proof.check(made.family).faults
    told = {fault.message.removeprefix("no rule meets: ").split(" (")[0] for fault in faults}

    assert {fault.kind for fault in faults} == {"unmet"}
    assert told == {f"{need}: {of}" if of else need for need, of in asking.unmet(made.family)}
    assert {fault.rule for fault in faults} == {question.need for question in made.questions}
    earthed = next(one.words for one in made.questions if one.need == "bond")
    assert earthed == (
        "How is it earthed? Name the item and how many per stack, or write 'not wanted' and why."
    )


def test_answers_are_rows_like_any_other_until_nothing_is_open(made):
    """Each question answered with an item or `not wanted`: the edition passes the whole check."""
    answers = [
        row("CLIP" if one.need == "bond" else "not wanted", "clip" if one.need == "bond" else "no",
            NEEDS[one.need].plain, **({"per_stack": 1} if one.need == "bond" else {}))
        for one in made.questions
    ]  # fmt: skip
    pages = [Page("Items", (HEADINGS, *ROWS)), Page("Answers", (HEADINGS, *answers))]
    whole = drafting.draft(
        first_hour.read(pages, "jobs.xlsx"), name="tower2", title="", edition=DAY
    )

    assert whole.questions == ()
    assert proof.check(whole.family).faults == []


def test_a_number_of_modules_without_lists_is_refused_by_the_kit():
    """Lists of 2 and 4 modules say nothing of 3."""
    headings = tuple("" if one == "3 modules" else one for one in HEADINGS)
    rows = [
        row("MOD", "module", "place module", per_module=1),
        row("BRA", "bracket", "fix to wall", by=(2, "", 5)),
    ]
    found = drafting.draft(
        first_hour.read([Page("Items", (headings, *rows))], "jobs.csv"),
        name="t", title="T", edition=DAY,
    ).family  # fmt: skip
    asked = {"family": "t", "stacks": [{"modules": 4}, {"modules": 3}]}
    refused = kit.work_out(found, configuration.parse(asked, found)).refused

    assert [one.message for one in refused] == [
        "No old job list has a stack of 3 modules: expected at most 0, got 3 (stack 2)"
    ]


BAD = [
    (row("M D", "x", "fix to wall", per_job=1), "Item code: expected letters, digits"),
    (row("", "x", "fix to wall", per_job=1), "Item code: expected a code or 'not wanted'"),
    (row("A", "", "fix to wall", per_job=1), "Name: expected a name, got nothing"),
    (row("not wanted", "", "bond"), "Name: expected why it is not wanted, got nothing"),
    (row("A", "a", "earthing", per_job=1), "did you mean 'the earth conductor'?"),
    (row("A", "a", "fasten", per_job=1), "For: expected what it is for"),
    (row("A", "a", "bond", step="fixx", per_job=1), "Step: expected one of look over"),
    (row("A", "a", "bond", followed="pice", per_job=1), "did you mean 'piece'?"),
    (row("A", "a", "bond", per_job="two"), "per job: expected a whole number from 1 to 10000"),
    (row("A", "a", "bond", per_job=2.5), "per job: expected a whole number from 1"),
    (row("A", "a", "bond", per_job=0), "per job: expected a whole number from 1"),
    (row("A", "a", "bond", per_job=10**6), "per job: expected a whole number from 1"),
    (row("A", "a", "bond", by=(1, "x", 3)), "3 modules: expected a whole number from 0"),
    (row("A", "a", "bond", by=(0, 0, 0)), "how many: expected more than 0 in one column"),
    (row("A", "a", "bond"), "how many: expected a number under one of the 'per' columns"),
    (row("A", "a", "bond", per_job=1, per_stack=1), "got per stack, per job"),
    (row("A", "a", "bond", box="NOPE", per_job=1), "In the box of: expected the code of an item"),
    (row("A", "a", "bond", box="A x 2", per_job=1), "In the box of: expected another item"),
    (row("A", "a", "bond", box="B x", per_job=1), "In the box of: expected a code, or as"),
    (row("A", "a", "tools", per_job=1), "Step: expected the step they are for"),
    (row("MOD", "other", "bond", per_job=1), "Name: expected MOD as in jobs.xlsx: Items row 2"),
    (row("MOD", "module", "place module", per_job=1), "got the same as jobs.xlsx: Items row 2"),
    (row("A", "a", "run data", per_job=1), "expected no item, as jobs.xlsx: Items row 3"),
]


@pytest.mark.parametrize(("bad", "message"), BAD)
def test_a_cell_that_cannot_be_read_is_named(bad, message):
    """Sheet, row and column, what was expected, what came."""
    good = row("MOD", "module", "place module", followed="serial", per_module=1)
    with pytest.raises(SheetError) as raised:
        read(good, ROWS[-1], bad, row("", "", ""))

    assert message in str(raised.value)
    assert "jobs.xlsx: Items row 4" in str(raised.value)


UNFIT = [
    (row("A", "a", "bond", per_entry=1), "per entry: expected one of per module"),
    (row("A", "a", "run power", by=(1, 1, 1)), "columns of modules: expected one of"),
    (row("A", "a", "connect inverter", per_metre=1), "per metre: expected one of per module"),
    (row("A", "a", "run power", followed="metre", per_metre="1,5"), "expected 1 for one cable"),
    (row("A", "a", "enter cable", per_metre=1), "per metre: expected one of per entry"),
    (row("A", "a", "blank entry", per_joint=1), "per joint: expected one of per job"),
]


@pytest.mark.parametrize(("bad", "message"), UNFIT)
def test_a_way_of_counting_that_cannot_be_is_named(bad, message):
    """Each need says what it may be counted by."""
    with pytest.raises(SheetError) as raised:
        drafted(ROWS[0], bad)

    assert message in str(raised.value)


def test_a_sheet_without_a_module_or_rows_or_headings_is_refused():
    """Each is told in one line."""
    for pages, message in (
        ([Page("Items", (HEADINGS, row("A", "a", "bond", per_job=1)))], "which item is the module"),
        ([Page("Items", ())], "expected at least one item, got an empty sheet"),
        ([Page("Items", (("Item code", "Nmae", "For"),))], "column B: expected a heading"),
        ([Page("Items", (("x",) * 3, ()))], "For: expected this heading"),
    ):
        with pytest.raises(SheetError) as raised:
            drafting.draft(first_hour.read(pages, "f"), name="t", title="T", edition=DAY)
        assert message in str(raised.value)
    with pytest.raises(SheetError, match="expected small letters"):
        drafting.draft(read(*ROWS), name="../x", title="", edition=DAY)


def test_any_good_sheet_becomes_an_edition_with_open_needs_only():
    """60 sheets drawn by chance: each parses, and its check finds nothing but open needs."""
    draw = random.Random(7)
    pers = ("per_module", "per_joint", "per_stack", "per_gap", "per_job")
    plain = [need for need in NEEDS.values() if need.kind != RAISED and need.per != "step"]
    drawn = 0
    for _ in range(60):
        rows = [ROWS[0]]
        for number in range(draw.randint(1, 12)):
            need = draw.choice(plain).name
            by = tuple(draw.randint(0, 9) for _ in range(3))
            per = {draw.choice(pers): draw.randint(1, 20)}
            many = {"by": by} if draw.random() < 0.3 and any(by) else per
            rows.append(row(f"I{number}", f"item {number}", need, **many))
        with suppress(SheetError):  # two rows of one need counted in two ways: asked back
            found = drafted(*rows).family
            assert {fault.kind for fault in proof.check(found).faults} <= {"unmet"}
            drawn += 1
    assert drawn > 20


def test_every_need_has_its_question():
    """The questions are those of the closed list, each with its mark."""
    assert set(NEEDS) == set(asking.QUESTIONS)
    assert all(words.endswith("?") for words in asking.QUESTIONS.values())
