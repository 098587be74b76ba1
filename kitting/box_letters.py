"""The letter of a kit's boxes: read across the bench, and unlike that of every other open kit."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from itertools import product

from inventory.codes.own import ALPHABET
from inventory.models import Place
from kitting.models import Kit, Package

LETTERS = "".join(sign for sign in ALPHABET if sign.isalpha())  # nothing looks like 0 or 1


def letters() -> Iterator[str]:
    """Every letter in turn, then pairs of them.

    >>> from itertools import islice
    >>> list(islice(letters(), 22, 25))
    ['Z', 'AA', 'AB']
    """
    yield from LETTERS
    yield from ("".join(pair) for pair in product(LETTERS, repeat=2))


def first_free(taken: Collection[str]) -> str:
    """Return the first letter that none of the open kits bears."""
    return next(letter for letter in letters() if letter not in taken)


def next_letter() -> str:
    """Return the letter for a kit that is released now; hold the lock meanwhile."""
    open_ = Kit.objects.filter(released_at__isnull=False, closed_by=None)
    return first_free(set(open_.values_list("letter", flat=True)))


def mark_of(place: Place) -> str:
    """The letter on the label of a kit's parcel, bag or bay; "" for any other place."""
    if not place.subject.startswith("kit:"):
        return ""
    package = Package.objects.filter(place__code=place.code).select_related("kit").first()
    return package.kit.letter if package is not None else ""
