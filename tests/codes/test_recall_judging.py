"""What a rule says of a thing: laws, a slow second opinion, cases a recall must not miss."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.codes.recall_judging import CANNOT_TELL, HIT, NO, Judge, Known, plain
from inventory.codes.recall_rule import Row, Rule, Span, parse
from tests.counts import counts

DAY = date(2026, 1, 1)
ORDER = (NO, CANNOT_TELL, HIT)

serials = st.builds(
    lambda left, number, width, right: f"{left}{number:0{width}d}{right}"[-9:],
    st.sampled_from(["", "A", "AB", "B0", "A-"]),
    st.integers(0, 130),
    st.integers(3, 5),
    st.sampled_from(["", "X", "O"]),
)
spans = st.builds(
    lambda left, low, more, width, right: Span(left, low, low + more, width, right),
    st.sampled_from(["", "A", "AB", "B0", "A-"]),
    st.integers(0, 99),
    st.integers(0, 30),
    st.integers(3, 5),
    st.sampled_from(["", "X", "O"]),
)
days = st.integers(0, 6).map(lambda n: DAY + timedelta(days=n))
rows = st.builds(
    Row,
    st.just(1),
    prefixes=st.lists(serials.map(lambda text: text[:3]), max_size=2).map(tuple),
    spans=st.lists(spans, max_size=2).map(tuple),
    serials=st.lists(serials, max_size=3).map(tuple),
    lots=st.lists(st.sampled_from(["7", "7A", "O7"]), max_size=2).map(tuple),
    models=st.lists(st.sampled_from(["M5", "M-6"]), max_size=2).map(tuple),
    made=st.none() | st.tuples(days, days).map(lambda two: (min(two), max(two))),
).filter(lambda row: any((row.prefixes, row.spans, row.serials, row.lots, row.models, row.made)))
rules = st.lists(rows, min_size=1, max_size=3).map(lambda some: Rule(tuple(some)))
things = st.builds(
    Known,
    serials,
    st.sampled_from(["M5", "M6"]).map(lambda name: frozenset({plain(name)})),
    st.sampled_from(["7", "7A", "07"]).map(lambda lot: (lot,)),
    days,
)


def slowly(rule: Rule, known: Known) -> bool:
    """Whether the letter names it, by writing every serial of every range out."""
    assert known.made_on is not None
    for row in rule.rows:
        spelled = {
            f"{span.left}{number:0{span.width}d}{span.right}"
            for span in row.spans
            for number in range(span.first, span.last + 1)
        }
        if (
            (not row.prefixes or any(known.serial[: len(p)] == p for p in row.prefixes))
            and (not row.spans or known.serial in spelled)
            and (not row.serials or known.serial in list(row.serials))
            and (not row.lots or any(lot in known.lots for lot in row.lots))
            and (not row.models or any(plain(model) in known.models for model in row.models))
            and (row.made is None or row.made[0] <= known.made_on <= row.made[1])
        ):
            return True
    return False


@settings(max_examples=counts(400, 4000))
@given(rules, things)
def test_a_hit_is_exactly_what_the_letter_names(rule: Rule, known: Known) -> None:
    """Written out in full, the rule names a thing where, and only where, it is judged a hit."""
    assert slowly(rule, known) == (Judge(rule).judge(known).word == HIT)


@settings(max_examples=counts(400, 4000))
@given(rules, things, st.data())
def test_what_is_not_known_never_rules_out(rule: Rule, known: Known, data: st.DataObject) -> None:
    """Forgetting or misreading something of a hit gives a question, never no."""
    judge = Judge(rule)
    if judge.judge(known).word != HIT:
        return
    at = data.draw(st.integers(0, len(known.serial) - 1))
    serial = data.draw(
        st.sampled_from(
            [
                "",
                f"{known.serial[:at]}?{known.serial[at + 1 :]}",
                f"{known.serial[:at]}-{known.serial[at:]}",
                known.serial.lower(),
                known.serial.replace("0", "O"),
                f"SN{known.serial}",
            ]
        )
    )
    lots = data.draw(st.sampled_from([(), known.lots, tuple(lot.lower() for lot in known.lots)]))
    made_on = data.draw(st.sampled_from([None, known.made_on]))

    less = judge.judge(replace(known, serial=serial, lots=lots, made_on=made_on))

    assert less.word != NO, (serial, lots, made_on, less)


@settings(max_examples=counts(200, 2000))
@given(rules, rows, things)
def test_a_widened_rule_takes_nothing_back(rule: Rule, row: Row, known: Known) -> None:
    """One more row, wherever it stands, never makes less of a thing."""
    before = ORDER.index(Judge(rule).judge(known).word)

    for widened in (Rule((*rule.rows, row)), Rule((row, *rule.rows))):
        assert ORDER.index(Judge(widened).judge(known).word) >= before


@pytest.mark.parametrize(
    ("rule", "serial", "word", "why"),
    [
        ("prefix AB12", "AB120500", HIT, "begins with AB12"),
        ("prefix AB12", "AB130500", NO, "does not begin with AB12"),
        ("prefix AB10", "ABIO500", CANNOT_TELL, "its start reads like AB10"),  # I for 1, O for 0
        ("prefix AB12", "ab-12-0500", CANNOT_TELL, "its start reads like AB12"),
        ("prefix AB12", "AB", CANNOT_TELL, "is too short for AB12"),  # only a part was read
        ("prefix AB12", "", CANNOT_TELL, "nobody knows its serial"),
        ("range AB1200 to AB1299", "AB1299", HIT, "lies in AB1200 to AB1299"),
        ("range AB1200 to AB1299", "AB1300", NO, "lies outside AB1200 to AB1299"),
        ("range AB1200 to AB1299", "CD1250", NO, "is unlike AB1200 to AB1299"),
        # A zero lost, or one character more: a spreadsheet, a check character.
        (
            "range AB0200 to AB0299",
            "AB250",
            CANNOT_TELL,
            "begins like AB0200 to AB0299 but has 5 characters, not 6",
        ),
        (
            "range AB1200 to AB1299",
            "AB12507",
            CANNOT_TELL,
            "begins like AB1200 to AB1299 but has 7 characters, not 6",
        ),
        ("range AB1200 to AB1299", "1250", CANNOT_TELL, "may be the end of one of AB1200 to"),
        ("range AB1200 to AB1299", "9250", NO, "is unlike AB1200 to AB1299"),
        ("range AB1200 to AB1299", "10AB1250", CANNOT_TELL, "ends like one of AB1200 to AB1299"),
        ("range 0100 to 0199", "150", CANNOT_TELL, "may be the end of one of 0100 to 0199"),
        ("range 0100 to 0199", "00150", CANNOT_TELL, "has another number of digits than 0100 to"),
        ("range 0100 to 0199", "00250", NO, "is unlike 0100 to 0199"),
        ("range AB12X to AB19X", "AB15Y", CANNOT_TELL, "ends in another way than AB12X to AB19X"),
        ("range AB12X to AB19X", "AB25Y", NO, "is unlike AB12X to AB19X"),
        ("range AB1200 to AB1299", "AB13?0", NO, "is unlike AB1200 to AB1299"),
        ("range AB1200 to AB1299", "AB1?50", CANNOT_TELL, "cannot be read in full"),
        ("AB1201 AB1202", "AB1202", HIT, "is on the list"),
        ("AB1201 AB1202", "AB1203", NO, "is not on the list"),
        ("AB1201 AB1202", "AB12O2", CANNOT_TELL, "reads like AB1202 of the list"),
        ("XY-AB1201", "AB1201", CANNOT_TELL, "reads like XY-AB1201 of the list"),  # a part of it
        ("AB1201", "AB1201-7", CANNOT_TELL, "reads like AB1201 of the list"),
    ],
)
def test_a_serial_is_judged(rule: str, serial: str, word: str, why: str) -> None:
    """Each case that letters and labels bring: common practice, no source."""
    judged = Judge(parse(rule)).judge(Known(serial, frozenset()))

    assert (word, True) == (judged.word, judged.why.startswith(why)), judged


def test_it_says_where_it_looked() -> None:
    """The characters that decided are told; nothing of a serial decides about a batch."""
    judge = Judge(parse("prefix AB1; lot 7\nrange CD10 to CD19"))

    by_prefix = judge.judge(Known("AB1999", frozenset(), ("7",)))
    assert (by_prefix.looked, by_prefix.row) == ((0, 1, 2), 1)
    by_range = judge.judge(Known("CD15", frozenset(), ("8",)))
    assert (by_range.looked, by_range.row) == ((0, 1, 2, 3), 2)
    assert Judge(parse("lot 7")).judge(Known("AB1999", frozenset(), ("7",))).looked == ()
