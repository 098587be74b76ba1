"""GS1 elements as readings."""

import pytest

from inventory.codes import gs1_reading
from inventory.codes.errors import CodeError
from inventory.codes.known import NOTHING, listed
from inventory.codes.request import Request


def request(text, via="keys", known=NOTHING):
    return Request(text, via, known, {"year": 2026})


@pytest.mark.parametrize(
    ("serial", "offered"),
    [("sN0001", "Sn0001"), ("aBC-1", "Abc-1")],
)
def test_inverted_case_is_a_question(serial, offered):
    """Small letter then capitals through a keyboard: Caps Lock, and the other case is offered."""
    text = "010952012345678821" + serial
    with pytest.raises(CodeError) as refusal:
        gs1_reading.of_text(request(text), text)

    assert refusal.value.kind == "case_suspect"
    assert refusal.value.candidates == ((("01", "09520123456788"), ("21", offered)),)
    assert gs1_reading.of_text(request(text, "symbol"), text)
    assert gs1_reading.of_text(request(text, "keys", listed([serial])), text)


def test_known_case_is_asked_for():
    """A serial that differs from a known one by case only is a question."""
    text = "010952012345678821sn0001"
    with pytest.raises(CodeError) as refusal:
        gs1_reading.of_text(request(text, "keys", listed(["SN0001"])), text)

    assert refusal.value.candidates == ((("01", "09520123456788"), ("21", "SN0001")),)


def test_brackets_in_a_scan_are_noted():
    """Brackets belong to print: scanned ones come from a faulty label maker."""
    text = "(01)09520123456788(21)A1"

    assert gs1_reading.of_brackets(request(text)).warnings == ("generator_bug",)
    assert gs1_reading.of_brackets(request(text, "hand")).warnings == ()


def test_restricted_numbers_are_noted():
    """A number of restricted circulation names nothing outside its firm."""
    text = "0102112345678900"

    assert gs1_reading.of_text(request(text), text).warnings == ("restricted_circulation",)
