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


COMMITTED = {row["topic"]: int(row["rows"]) for row in facts.sheet("used")}


def fallen(rows):
    """Topics of which fewer rows are used than used.csv has."""
    used = Counter(row["topic"] for row in rows if facts.proof(row))
    return {topic for topic, committed in COMMITTED.items() if used[topic] < committed}


def test_no_topic_uses_fewer_rows_than_committed():
    """used.csv holds the count of each topic; a row that falls out is seen."""
    assert set(COMMITTED) == {row["topic"] for row in facts.ROWS}
    assert fallen(facts.ROWS) == set()
    assert sum(COMMITTED.values()) >= 700


@pytest.mark.parametrize("topic", COMMITTED)
def test_one_row_taken_out_is_seen(topic):
    """The first used row of each topic left out: the topic has fallen, no other."""
    gone = next(row for row in facts.ROWS if row["topic"] == topic and facts.proof(row))

    assert fallen([row for row in facts.ROWS if row is not gone]) == {topic}


def test_every_used_row_asks_the_product():
    """Each topic has one test over all its used rows, and that test is `check`, which asks."""
    texts = [path.read_text(encoding="utf-8") for path in HERE.glob("test_*.py")]
    loop = r'@each\(used\("(\w+)"\)\)\ndef test_row\(row\):\n    """[^"]*"""\n    check\(row\)\n'

    assert sorted(found for text in texts for found in re.findall(loop, text)) == sorted(COMMITTED)
    wrong = {**facts.ROWS[0], "value": facts.ROWS[0]["value"] + 1}
    with pytest.raises(AssertionError):
        facts.check(wrong)


def test_no_table_cell_is_held_only_against_itself():
    """A published row is used by a formula, a second source, a worked row or a test by its name."""
    ways = Counter(facts.proof(row).partition(":")[0] for row in facts.ROWS)

    assert set(ways) == {"", "outside", "formula", "second", "through", "test"}
    assert ways["outside"] == sum(row["kind"] != "published" for row in facts.ROWS)
    assert ways["second"] >= 200


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


def batch(rows, path):
    """The answers of `figure --batch` to rows, each asked by the first two parts of its id."""
    lines = [
        facts.json.dumps({"figure": ".".join(row["id"].split(".")[:2]), "inputs": row["inputs"]})
        for row in rows
    ]
    out = StringIO()
    path.write_text("\n".join(lines), encoding="utf-8")
    call_command("figure", "--batch", str(path), stdout=out)
    return [facts.json.loads(line) for line in out.getvalue().splitlines()]


def test_every_row_by_one_batch(tmp_path):
    """Used or not, published or derived: value within its tolerance, in its unit, with source and
    edition. Where two rows have one name and one and the same inputs, the other is in `also`."""
    answers = batch(facts.ROWS, tmp_path / "all.jsonl")
    others = set()

    for row, first in zip(facts.ROWS, answers, strict=True):
        answer = first
        if not facts.agrees(row["value"], first["value"], row["tolerance"]):
            others.add(row["id"])
            answer = first["also"][".".join(row["id"].split(".")[:3])]
        assert facts.agrees(row["value"], answer["value"], row["tolerance"]), row["id"]
        assert re.split(r"[ ,]", answer["unit"])[0] == re.split(r"[ ,]", row["unit"])[0], row["id"]
        assert answer["source"]
        assert answer["edition"]
        assert set(answer) - {"also"} == {"value", "unit", "source", "edition"}
    assert {".".join(one.split(".")[:2]) for one in others} == ONE_NAME_TWO_ANSWERS.keys()
    worked = {row["id"] for row in facts.ROWS if row["kind"] != "published"}
    assert len(worked) >= 190
    assert worked & others == {f"fast.a2.ult.{thread}" for thread in ("M5", "M6", "M8", "M10")}


def test_rows_of_one_name_and_one_question_are_the_only_ones_in_also():
    """What `also` is there for: the same first two parts and the same inputs, another value."""
    asked = {}
    for row in facts.ROWS:
        question = (".".join(row["id"].split(".")[:2]), str(sorted(row["inputs"].items())))
        asked.setdefault(question, []).append(row)
    twice = {name for (name, _), rows in asked.items() if len({str(r["value"]) for r in rows}) > 1}

    assert twice == ONE_NAME_TWO_ANSWERS.keys()


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
