"""Check digits and characters."""

import pytest

from inventory.codes import check_digits


def test_every_single_wrong_digit_is_caught():
    """Mod 10 with weights 3 and 1 catches each single substitution (3 and 10 share no divisor)."""
    number = "952012345678912345"
    assert check_digits.is_checked(number)
    for i, digit in enumerate(number):
        for other in set("0123456789") - {digit}:
            assert not check_digits.is_checked(number[:i] + other + number[i + 1 :])


def test_leading_zeros_change_nothing():
    """A number and its 14-digit form share the check digit."""
    assert check_digits.check_digit("952012345678") == check_digits.check_digit("0952012345678")


@pytest.mark.parametrize("text", ["", "0", "12a", "\u0661\u0662", "9520123456789"])
def test_other_texts_are_not_checked(text):
    """Empty, single, other scripts' digits and wrong digits are no checked numbers."""
    assert not check_digits.is_checked(text)
