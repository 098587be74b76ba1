"""Every reading of a text, or a named refusal."""

import json
import random
import re
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.codes import own, plain
from inventory.codes.known import listed
from inventory.codes.reading import read
from tests.codes import hostile
from tests.counts import counts

LABEL = own.make("unit", 123_456)
SHARED = json.loads((Path(__file__).parent / "lookup_vectors.json").read_text())["vectors"]
FUZZED = counts(1_000, 10_000)

CONTEXTS = [
    {},
    {"separator": "|"},
    {"host_layout": "DE QWERTZ", "scanner_layout": "US"},
    {"host_layout": "FR AZERTY"},
    {"identifiers": "DI"},
    {"symbology": "UPC-E"},
    {"symbology": "ITF"},
    {"separator": 7, "year": "soon", "kind": None, "rule": []},  # nonsense is ignored
]


def one(text, via="symbol", known=(), **context):
    answer = read(text, via, listed(known), context)
    assert answer.refused is None, answer.refused
    assert len(answer.readings) == 1
    return answer.readings[0]


def refusal(text, via="symbol", known=(), **context):
    answer = read(text, via, listed(known), context)
    assert answer.readings == ()
    return answer.refused


@given(st.text(max_size=60), st.sampled_from(["", "keys", "paired", "symbol", "hand"]))
def test_any_text_gets_an_answer(text, via):
    """A text gives readings or a named refusal, never both, never neither, never an error."""
    check(read(text, via))


def check(answer):
    assert (answer.refused is None) == bool(answer.readings)
    if answer.refused:
        assert re.fullmatch("[a-z0-9_]+", answer.refused.kind)
        assert answer.refused.message
    assert json.loads(json.dumps(answer.as_json()))["input"] == answer.input


def test_fuzzed_labels_get_an_answer():
    """Random and mutated labels of every scheme, in every context: an answer each."""
    rng = random.Random(15)
    known = listed([LABEL, "SN0001", "9520123456788"], (profile(),))
    for text in hostile.texts(15, FUZZED):
        via = rng.choice(["", "keys", "paired", "symbol", "hand"])
        check(read(text, via, known, rng.choice(CONTEXTS)))


def profile():
    return plain.Profile("modules", plain.compile_pattern("MD{serial:d6}"))


def test_own_labels():
    """Our labels are read in any case and through any symbol; case is noted."""
    reading = one(LABEL.lower(), "keys")

    assert (reading.kind, reading.text, reading.warnings) == ("own", LABEL, ("case_inverted",))
    assert reading.fields == {"own_kind": "unit", "own_number": 123_456}
    assert one(f"]d1{LABEL}").text == LABEL
    assert one(f" {LABEL[:3]} {LABEL[3:]} ", "hand").text == LABEL


def test_a_wrong_own_label_is_a_question():
    """A wrong character is refused; the letter O for a zero brings the label that was meant."""
    wrong = refusal(LABEL[:-1] + ("0" if LABEL[-1] != "0" else "1"))
    spelled = refusal(own.make("unit", 7).replace("0", "O"))

    assert wrong.kind == "check_or_length_fails"
    assert spelled.candidates == (own.make("unit", 7),)


def test_label_profiles():
    """A plain serial is read by its supplier's pattern."""
    known = listed([], (profile(),))
    reading = read("MD001234", "symbol", known).readings[0]

    assert (reading.kind, reading.fields) == ("label", {"serial": "001234"})
    assert reading.warnings == ("label:modules",)


@pytest.mark.parametrize("text", ["QC-157", "07AB", "https://example.com/x", "A B", "]C0QC-157"])
def test_known_texts(text):
    """What no scheme claims is read when exactly it is known, and refused else."""
    plain_text = text.removeprefix("]C0")

    assert refusal(text).kind
    assert one(text, known=[plain_text]).kind == "known"


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("QC-I57", "near_miss"),
        ("QC-15", "near_miss"),
        ("qc-157", "case_suspect"),
        ("QC-199", "check_or_length_fails"),
    ],
)
def test_near_misses_are_questions(text, kind):
    """0 for O, 1 for I, one edit or another case is a question with what is near."""
    refused = refusal(text, known=["QC-157"])

    assert refused.kind == kind
    assert refused.candidates == (("QC-157",) if kind != "check_or_length_fails" else ())


def test_a_plain_serial_that_is_also_an_element():
    """400123 is an order number by GS1 and may be a known serial: both are shown."""
    readings = read("400A23", "symbol", listed(["400A23"])).readings

    assert [reading.kind for reading in readings] == ["gs1", "known"]


def test_separators_are_trusted_from_symbols_and_paired_devices():
    """A serial that might hide a lot is read where separators are known to arrive."""
    text = "010952012345678821SN10023"

    assert refusal(text, "keys").kind == refusal(text, "").kind == "separator_suspect"
    assert one(text, "symbol").fields["serial"] == "SN10023"
    assert one(text, "keys", separator="|").fields["serial"] == "SN10023"
    assert one(text, "keys", known=["SN10023"]).fields["serial"] == "SN10023"


def test_a_hidden_key_is_refused_even_from_a_symbol():
    """A number with a check digit inside a lot is no chance: the label lacks its separator."""
    refused = refusal("400PO7010952012345678821A")

    assert refused.kind == "separator_suspect"
    assert (("400", "PO7"), ("01", "09520123456788"), ("21", "A")) in refused.candidates


def test_context_of_paired_keyboards():
    """A paired device's layouts are undone; without pairing the text is refused."""
    assert refusal("LB\u00dfYZ0042", "keys", ["LB-ZY0042"]).kind == "illegal_character"
    reading = one("LB\u00dfYZ0042", "keys", ["LB-ZY0042"], host_layout="DE QWERTZ")

    assert (reading.text, reading.warnings) == ("LB-ZY0042", ("layout_de",))


def test_several_scans():
    """Two codes in one burst come apart; one bad code refuses the burst with its parts."""
    good = read(f"{LABEL}\r9520123456788\r", "keys")
    bad = refusal(f"{LABEL}\rnothing\r", "keys")

    assert [reading.kind for reading in good.readings] == ["own", "gtin"]
    assert (bad.kind, bad.candidates) == ("several_scans", (LABEL, "nothing"))


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("A" * 7090, "too_long"),
        ("\x00", "illegal_character"),
        ("javascript:alert(1)", "check_or_length_fails"),
        ("]C0010952012345678821SN0001", "not_gs1_symbol"),
        ("]I11234567890", "wrong_length"),  # a piece of an ITF symbol reads too
        ("]E0952012345678", "check_digit"),
        ("4006381333932", "check_digit"),  # never read as element (400)
        ("9520123456789", "check_digit"),  # never read as element (95)
    ],
)
def test_refusals(text, kind):
    """Each refusal has its name."""
    assert refusal(text).kind == kind


@pytest.mark.parametrize("row", SHARED, ids=lambda row: repr(row["text"]))
def test_shared_look_up_vectors_are_answered(row):
    """The texts that server and phone share go through the reader too."""
    check(read(row["text"], "keys"))


def test_reading_is_quick():
    """An ordinary label takes a few hundred calls: well under a millisecond."""
    made = []
    read("010952012345678821SN0001", "symbol")  # reads the tables
    sys.setprofile(lambda frame, event, arg: made.append(event))
    read("010952012345678821SN0001", "symbol")
    sys.setprofile(None)

    assert made.count("call") < 500
