"""A text counts only where it is exactly something known."""

import pytest

from inventory.pictures.accepting import accept, as_known, judge
from inventory.pictures.hit import Hit

HERE = (10, 10, 100, 40)
GTIN = "09521234543213"


def codes(*hits: Hit, known=()) -> list[tuple[str, bool]]:
    return [(code.text, code.accepted) for code in accept(hits, as_known(known))]


@pytest.mark.parametrize("known", [None, (), set()])
def test_with_nothing_known_nothing_counts(known) -> None:
    """The text is shown, with the reason why it does not count."""
    [code] = accept([Hit("LBG000007W", "QR", HERE)], as_known(known))

    assert not code.accepted
    assert code.why == "nothing is known to compare it with"


@pytest.mark.parametrize(
    ("text", "symbology", "known", "accepted"),
    [
        ("LBG000007W", "Code128", "LBG000007W", True),
        # one character off, one more, one less, another case: never by nearness
        ("LBG000007V", "Code128", "LBG000007W", False),
        ("LBG000007WW", "Code128", "LBG000007W", False),
        ("LBG000007", "Code128", "LBG000007W", False),
        ("lbg000007w", "Code128", "LBG000007W", False),
        # EAN-13 and UPC-A compare as 14 digits, either way round
        ("9521234543213", "EAN13", GTIN, True),
        ("0012345678905", "EAN13", "012345678905", True),
        ("012345678905", "UPCA", "0012345678905", True),
        ("9521234543214", "EAN13", GTIN, False),
        # a serial in Code 128 is not filled up with noughts
        ("9521234543213", "Code128", GTIN, False),
        (GTIN, "ITF", GTIN, True),
        (GTIN, "ITF", "9521234543213", True),
        # a piece of a longer ITF code, as decoders give it
        ("09521234", "ITF", GTIN, False),
        ("0123456789", "ITF", "0123456789", True),
        ("A", "Code39", "A", False),
        ("A", "DataMatrix", "A", True),
        ("0109521234543213\x1d21A1", "GS1-128", "0109521234543213\x1d21A1", True),
    ],
)
def test_a_text_counts_on_an_exact_match_only(text, symbology, known, accepted) -> None:
    """Each row is a known text and what was read."""
    assert codes(Hit(text, symbology, HERE), known={known}) == [(text, accepted)]


def test_a_short_line_code_needs_both_decoders() -> None:
    """One letter of one decoder may be a perforated sheet; two in one place agree on a code."""
    one, other = (
        Hit("A", "Code39", HERE, step="zxing"),
        Hit("A", "Code39", HERE, step="zbar doubled"),
    )
    again = Hit("A", "Code39", HERE, step="zxing upright")
    elsewhere = Hit("A", "Code39", (900, 900, 100, 40), step="zbar doubled")

    assert codes(one, again, known={"A"}) == [("A", False)]
    assert codes(one, elsewhere, known={"A"}) == [("A", False)]
    assert codes(one, other, known={"B"}) == [("A", False)]
    assert codes(one, other, known={"A"}) == [("A", True)]


def test_a_piece_of_an_itf_code_is_not_filled_up() -> None:
    """The catalogue's own comparison fills up to 14 digits; an ITF code of 12 must not profit."""
    hit = Hit("012345678905", "ITF", HERE)

    accepted, why = judge(hit, lambda text, symbology: text.zfill(14))

    assert not accepted
    assert why == "12 digits of an ITF code can be a piece of a longer one"


def test_an_unsure_read_needs_a_second_step() -> None:
    """Flat boxes and few lines make most wrong reads; twice in one step is the same look."""
    one, other, sure = (
        Hit("9521234543213", "EAN13", HERE, sure, step)
        for sure, step in ((False, "zxing"), (False, "zbar doubled"), (True, "zxing"))
    )

    assert codes(one, known={GTIN}) == [("9521234543213", False)]
    assert codes(one, one, known={GTIN}) == [("9521234543213", False)]
    assert codes(one, other, known={GTIN}) == [("9521234543213", True)]
    assert codes(one, sure, known={GTIN}) == [("9521234543213", True)]
    assert accept([one], as_known({GTIN}))[0].why.endswith(
        "read once and not surely: scan it again"
    )


def test_the_same_text_is_told_once() -> None:
    """Two decoders, or two equal labels: one line, since photos cannot count equal labels."""
    found = codes(
        Hit("9521234543213", "EAN13", HERE),
        Hit("9521234543213", "EAN13", (500, 10, 100, 40)),
        Hit("0012345678905", "EAN13", (10, 400, 100, 40)),
        Hit("012345678905", "UPCA", (10, 401, 100, 40)),
        known={GTIN},
    )

    assert found == [("9521234543213", True), ("0012345678905", False)]


def test_one_symbol_read_as_two_known_codes_counts_as_neither() -> None:
    """A wrong read can hit another known item: then a person scans again."""
    both = accept(
        [Hit("9521234543213", "EAN13", HERE), Hit("9521234543220", "EAN13", (12, 12, 99, 39))],
        as_known({GTIN, "9521234543220"}),
    )

    assert [code.accepted for code in both] == [False, False]
    assert "read as two known codes" in both[0].why


def test_two_labels_beside_each_other_both_count() -> None:
    """They do not lie on one another; and a square code inside a line code's box is its own."""
    found = codes(
        Hit("9521234543213", "EAN13", HERE),
        Hit("9521234543220", "EAN13", (10, 200, 100, 40)),
        Hit("A1B2", "DataMatrix", HERE),
        known={GTIN, "9521234543220", "A1B2"},
    )

    assert {accepted for _, accepted in found} == {True}


def test_what_counts_comes_first_then_from_top_to_bottom() -> None:
    """The order a person looks at."""
    found = codes(
        Hit("B", "QR", (0, 300, 50, 50)),
        Hit("A", "QR", (0, 10, 50, 50)),
        Hit("C", "QR", (0, 500, 50, 50)),
        known={"C"},
    )

    assert [text for text, _ in found] == ["C", "A", "B"]


def test_a_code_has_the_shape_of_the_answer_line() -> None:
    """The keys of the contract, the box as a list."""
    [code] = accept([Hit("A1B2", "QR", HERE)], as_known({"A1B2"}))

    assert code.as_json() == {
        "text": "A1B2",
        "symbology": "QR",
        "box": [10, 10, 100, 40],
        "accepted": True,
        "why": "is the known A1B2",
    }
