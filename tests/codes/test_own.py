"""Our own labels: form and check character."""

import doctest
import itertools
import random

import pytest

from inventory.codes import own
from inventory.codes.errors import CodeError


def some_labels():
    rng = random.Random(33)
    kinds = list(own.KINDS)
    numbers = [0, 1, 32, 33, own.MOST, *(rng.randrange(own.MOST) for _ in range(30))]
    return [own.make(kinds[i % len(kinds)], number) for i, number in enumerate(numbers)]


def test_make_and_parse_are_inverse():
    """A label's text gives back its kind and number, in either case."""
    for kind, number in itertools.product(own.KINDS, (0, 1, 33, 123_456, own.MOST)):
        text = own.make(kind, number)

        assert own.Own(kind, number, text) == own.parse(text) == own.parse(text.lower())
        assert len(text) == own.LENGTH
        assert not text.startswith("99")
        assert set(text) <= set(own.ALPHABET)
        assert not set(text) & set("IOQ")


def test_weights_catch_one_wrong_character_and_one_swap():
    """No difference of two characters times a weight, or times the gap of two weights, is 0.

    All 10 positions, all 33 x 32 pairs of characters: this is every single substitution and every
    swap of neighbours of every label, since the sum is linear.
    """
    size = len(own.ALPHABET)
    for position, difference in itertools.product(range(own.LENGTH), range(1, size)):
        assert (difference << position) % size != 0
        assert (difference * ((1 << (position + 1)) - (1 << position))) % size != 0


def test_every_single_error_of_some_labels_is_refused():
    """Each wrong character and each swap of unlike neighbours in 35 labels is refused by parse."""
    for text in some_labels():
        for i, char in itertools.product(range(own.LENGTH), own.ALPHABET):
            wrong = text[:i] + char + text[i + 1 :]
            assert own.is_valid(wrong) == (wrong == text), wrong
        for i in range(own.LENGTH - 1):
            swapped = text[:i] + text[i + 1] + text[i] + text[i + 2 :]
            assert own.is_valid(swapped) == (swapped == text), swapped


@pytest.mark.parametrize(
    "text",
    [
        "",
        "LBU000007",  # one character lost
        "LBU00000777",  # one too many
        "LBI0000077",  # no such kind
        "LBUOOOOO77",  # the letter O for the digit
        "XXU0000077",
        "LBU00000\u0667\u0667",  # digits of another script
        "LB-000123",
    ],
)
def test_parse_refuses_other_texts(text):
    """What is not exactly a label of ours is refused by the kind that the vectors use."""
    with pytest.raises(CodeError) as refusal:
        own.parse(text)

    assert refusal.value.kind == "check_or_length_fails"


def test_make_refuses_what_does_not_fit():
    """A kind we do not have and a number beyond six characters are refused."""
    with pytest.raises(CodeError, match="expected a kind"):
        own.make("pallet", 1)
    for number in (-1, own.MOST + 1):
        with pytest.raises(CodeError, match="expected a number"):
            own.make("unit", number)


def test_examples_of_the_docstring_hold():
    """The examples shown in the module are what it does."""
    assert doctest.testmod(own).failed == 0
