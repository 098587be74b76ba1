"""The check values themselves: each row is used or left out for a reason, and none is lost."""

import re
from collections import Counter
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from kitting.plan import figure
from tests.reference import facts

HERE = Path(__file__).parent
ONE_NAME_TWO_ANSWERS = {
    "bus.485": "the bus alone is asked, for its unit loads, length, terminators",
    "bus.can": "the rate alone is asked, for trunk and drop lines",
    "fast.a2": "thread and class are asked, for yield and ultimate load",
    "gland.npt": "the size alone is asked, for diameter and threads",
}


def test_each_row_is_used_or_has_a_reason():
    """A row is proved as how.csv says, came from outside, or stands in unused.csv with why not."""
    lost = [
        row["id"]
        for row in facts.ROWS
        if not facts.proof(row) and not facts.longest(row["id"], facts.UNUSED)
    ]
    idle = [
        prefix
        for prefix in facts.UNUSED
        if not any(row["id"].startswith(prefix) and not facts.proof(row) for row in facts.ROWS)
    ]

    assert (lost, idle) == ([], [])
    assert all(facts.UNUSED.values())


def test_no_topic_uses_fewer_rows_than_committed():
    """used.csv holds the count of each topic; a row that falls out is seen."""
    used = Counter(row["topic"] for row in facts.ROWS if facts.proof(row))
    committed = {row["topic"]: int(row["rows"]) for row in facts.sheet("used")}

    assert set(committed) == {row["topic"] for row in facts.ROWS}
    assert {topic: used[topic] for topic in committed if used[topic] < committed[topic]} == {}
    assert sum(committed.values()) >= 700


@pytest.mark.parametrize("by", sorted(set(facts.HOW.values())))
def test_each_way_of_proving_is_there(by):
    """The second sources, the rows gone through, and the tests that how.csv names exist."""
    kind, _, name = by.partition(":")
    if kind == "second":
        assert facts.sheet(f"second/{name}")
    elif kind == "through":
        assert all(facts.proof(row) for row in facts.ROWS if row["id"].startswith(name))
    elif kind == "test":
        texts = [path.read_text(encoding="utf-8") for path in HERE.glob("test_*.py")]
        assert sum(f"def {name}(" in text for text in texts) == 1
    else:
        assert by == "formula"


def test_all_used_rows_by_one_batch(tmp_path):
    """`figure --batch` answers every used row in order, by the first two parts of its id."""
    rows = [row for row in facts.ROWS if facts.proof(row)]
    lines = [
        facts.json.dumps({"figure": ".".join(row["id"].split(".")[:2]), "inputs": row["inputs"]})
        for row in rows
    ]
    path, out = tmp_path / "all.jsonl", StringIO()
    path.write_text("\n".join(lines), encoding="utf-8")
    call_command("figure", "--batch", str(path), stdout=out)
    answers = [facts.json.loads(line) for line in out.getvalue().splitlines()]

    assert len(answers) == len(rows)
    assert {tuple(answer) for answer in answers} == {("value", "unit", "source", "edition")}
    wrong = {
        ".".join(row["id"].split(".")[:2])
        for row, answer in zip(rows, answers, strict=True)
        if not facts.agrees(row["value"], answer["value"], row["tolerance"])
    }
    assert wrong <= set(ONE_NAME_TWO_ANSWERS)


def test_a_refused_line_is_told_after_all_are_answered(tmp_path):
    """The others are answered, in order; the command fails in the end."""
    path, out = tmp_path / "some.jsonl", StringIO()
    good = '{"figure": "cond.kt", "inputs": {"temp_c": 30}}'
    bad = '{"figure": "lift.HM", "inputs": {"H_cm": true}}'
    path.write_text("\n".join([good, bad, "{", "[1]", good]), encoding="utf-8")
    with pytest.raises(CommandError, match="3 of 5 lines refused"):
        call_command("figure", "--batch", str(path), stdout=out)
    answers = [facts.json.loads(line) for line in out.getvalue().splitlines()]

    assert answers[0] == answers[4]
    assert answers[1] == {"error": "H_cm: expected a number from 0 to 300, got True"}
    assert all("expected" in answer["error"] for answer in answers[1:4])


@pytest.mark.parametrize(
    ("name", "inputs", "told"),
    [
        ("cond.nothing", {}, "figure: expected one of adr.cat"),
        ("cond", {"temp_c": 3, "x": 1}, "expected"),
        ("cond.kt", [], r"inputs: expected an object, got \[\]"),
        ("cond.kt", {}, "expected temp_c, got nothing"),
        ("cond.kt", {"temp_c": 20, "further": 1}, "expected temp_c, got temp_c, further"),
        ("cond.kt", {"temp_c": "20"}, "temp_c: expected a number from 0 to 250, got '20'"),
        ("cond.kt", {"temp_c": 1e400}, "got inf"),
        ("cond.kt", {"temp_c": 10**400}, "temp_c: expected a number"),
        ("samp.code", {"lot": 2.5, "level": "II"}, "lot: expected a whole number"),
        ("samp.code", {"lot": 50, "level": "III"}, "level: expected one of II, got 'III'"),
        ("adr.points", {"lines": []}, "lines: expected a list of 1 to 200"),
        (
            "adr.points",
            {"lines": [{"category": 9, "kg_or_l": 1}]},
            r"lines: \[0\]: category: expected one of 0, 1, 1a, 2, 3, 4, got 9",
        ),
        (
            "store.months",
            {"soc_start": 20, "soc_floor": 50, "percent_of_rated_per_month": 3},
            "at most",
        ),
        ("gland.ip", {"rating": "67", "needs": "IP66"}, "expected IP and two numerals"),
    ],
)
def test_a_wrong_question_is_refused_in_words(name, inputs, told):
    """Unknown name, missing or strange key, wrong kind, out of range: expected X, got Y."""
    with pytest.raises(figure.Wrong, match=told):
        figure.ask(name, inputs)


def test_every_figure_has_unit_source_edition_and_somebody_who_decides():
    """No figure without its source; none calls anything safe."""
    for name, alike in figure.registry().items():
        caution = figure.caution(name)
        for one in alike:
            assert all((one.unit, one.source, one.edition, caution.decides)), name
            told = f"{one.unit} {one.source} {caution.words} {caution.decides}"
            assert not re.search(r"\bsafe\b", told, re.I), name


def test_a_person_reads_value_source_and_who_decides(tmp_path):
    """Without --json the answer is lines of words."""
    path, out = tmp_path / "in.json", StringIO()
    path.write_text('{"individual_kg": [25, 25]}', encoding="utf-8")
    call_command("figure", "lift.team", str(path), stdout=out)
    lines = out.getvalue().splitlines()

    assert lines[0] == "33.3333"
    assert [line.partition(":")[0] for line in lines[1:]] == [
        "unit",
        "source",
        "edition",
        "note",
        "who decides",
    ]
