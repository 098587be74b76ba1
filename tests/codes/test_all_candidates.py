"""A lost separator is refused with every reading there can be, found again by trying every cut."""

from collections.abc import Iterator
from itertools import product

import pytest

from inventory.codes import associations, element_strings, identifiers, lost_separators
from inventory.codes.associations import Elements
from inventory.codes.errors import CodeError
from inventory.codes.reading import read

TYPED = "029"  # a separator that a keyboard sent as its decimal number

RUN_TOGETHER = [
    "0109520123456788" + "10A1721SN4",  # a lot with a serial behind it
    "0109520123456788" + "10A17261231",  # a lot with a date behind it
    "0109520123456788" + "21B11251231" + "10C",
    "0109520123456788" + "10AB" + TYPED + "21SN7",
    "0109520123456788" + "21X10.3720",  # and a count
    "0109520123456788" + "1012921021",
    "00095201234567891235" + "02" + "09520123456788" + "3712" + "10L21",
    "00095201234567891235" + "400A1401B" + "403C",
]
LAST = [case for case in RUN_TOGETHER if case.startswith("01") and TYPED not in case]


def cuts(text: str) -> Iterator[Elements]:
    """Every way to take the text as elements: each identifier of the table, each end of a value.

    One element at a time is put to the parser of element strings, which vectors check.
    """
    if not text:
        yield ()
    for code, end in product(identifiers.table(), range(3, len(text) + 1)):
        if not text.startswith(code) or not alone(code, text[len(code) : end]):
            continue
        rest = text[end:]
        typed = rest.startswith(TYPED) and not identifiers.table()[code].fixed
        for following in (rest, rest[len(TYPED) :]) if typed else (rest,):
            if following or not typed:
                yield from (((code, text[len(code) : end]), *tail) for tail in cuts(following))


def alone(code: str, value: str) -> bool:
    """Whether the pair by itself is an element; one of fixed length must have that length."""
    try:
        return element_strings.parse(code + value) == ((code, value),)
    except CodeError:
        return False


def paired(elements: Elements) -> bool:
    """Whether what must stand together does."""
    try:
        return not associations.check(elements)
    except CodeError:
        return False


@pytest.mark.parametrize("text", RUN_TOGETHER)
def test_the_search_gives_all_readings_and_no_other(text) -> None:
    """As a set; their order is another matter."""
    every = {elements for elements in cuts(text) if paired(elements)}

    assert every, "a case with nothing to find proves nothing"
    assert set(lost_separators.candidates(text)) == every


@pytest.mark.parametrize("text", LAST)
def test_the_refusal_shows_all_but_the_reading_that_is_in_doubt(text) -> None:
    """Through the one entrance: the kind by name, and every other reading to choose from."""
    greedy = element_strings.parse(text)
    *head, (code, value) = greedy
    every = {(*head, *tail) for tail in cuts(code + value)} - {greedy}
    refused = read(text, via="keys").refused

    assert refused is not None
    assert refused.kind == "separator_suspect"
    assert set(refused.candidates) == {elements for elements in every if paired(elements)}
