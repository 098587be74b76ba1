"""What an element string may have been before its separators were dropped."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.codes import check_digits, element_strings, lost_separators
from inventory.codes.errors import CodeError

GTIN = ("01", "09520123456788")
PLAIN = st.text(alphabet="0123456789ABCDEFGHJKLMNPRSTUVWXYZ", min_size=1, max_size=9)


@given(st.integers(0, 10**13 - 1), PLAIN, PLAIN)
def test_the_truth_is_among_the_candidates(number, lot, serial):
    """A lot and a serial run together are found again, whatever they are."""
    stem = f"{number:013}"
    truth = (("01", stem + check_digits.check_digit(stem)), ("10", lot), ("21", serial))
    joined = element_strings.write(truth).replace("\x1d", "")

    assert truth in lost_separators.candidates(joined)


@pytest.mark.parametrize("serial", ["SN0001", "FW-2.1.4", "A", "000123", "sn/00-01a"])
def test_nothing_is_hidden_in_a_plain_value(serial):
    """Values without a possible further element raise no question."""
    assert lost_separators.hidden((GTIN, ("21", serial))) == ()


def test_strength():
    """A hidden key with check digit, or two hidden dates, are no chance."""
    greedy = (GTIN, ("10", "A17261231"))
    key = (("400", "A010952012345678"), ("01", "09520123456788"))
    date = (GTIN, ("10", "A"), ("17", "261231"))
    dates = (GTIN, ("10", "A"), ("17", "261231"), ("11", "251231"))

    assert date in lost_separators.hidden(greedy)
    assert not lost_separators.is_strong(greedy, date)
    assert lost_separators.is_strong(greedy, dates)
    assert lost_separators.is_strong((("400", "A01095201234567801"),), key)


@pytest.mark.parametrize("text", ["10" * 200, "21" + "99" * 500, "9" * 4000, "1011" * 300])
def test_hostile_texts_end_soon(text, monkeypatch):
    """The search has a budget: a text made to explode is given up after so many values."""
    looked, look = [], element_strings.value_at
    monkeypatch.setattr(
        element_strings, "value_at", lambda *asked: looked.append(asked[1]) or look(*asked)
    )
    found = lost_separators.candidates(text)

    assert len(looked) <= lost_separators.STEPS
    assert len(found) <= lost_separators.MOST


def test_candidates_are_legal():
    """Each candidate parses when its separators are put in."""
    found = lost_separators.candidates("1021072911172405310100693570007182")

    assert found
    for elements in found:
        try:
            assert elements == element_strings.parse(element_strings.write(elements))
        except CodeError as error:  # pragma: no cover - a failure, in words
            pytest.fail(f"{elements}: {error}")


def test_a_value_may_begin_and_end_with_any_sign():
    """FW-2.10.4 may be a serial, and a serial with a batch behind it whose separator was lost."""
    hidden = lost_separators.hidden((GTIN, ("21", "FW-2.10.4")))

    assert hidden == ((GTIN, ("21", "FW-2."), ("10", ".4")),)
