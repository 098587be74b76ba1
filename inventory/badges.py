"""A badge: a code that says who stands at the bench.

It opens nothing: its number is counted, not secret, and anybody can print another. It never signs
anybody in; it only says whose hands the next scans are, on a device that is signed in already.
"""

from __future__ import annotations

from inventory.codes import own
from inventory.codes.errors import CodeError
from inventory.labels.label import Label
from inventory.models import Person

KIND = "person"
NO_KEY = "Says who. Opens nothing."


def badge_of(person: Person) -> str:
    """The text of a person's badge, the same for ever."""
    return own.make(KIND, person.pk)


def person_by_badge(text: str) -> Person | None:
    """Who a scanned badge names; None for any other text and for one who has left."""
    try:
        read = own.parse(text.strip())
    except CodeError:
        return None
    return _working(read.number) if read.kind == KIND else None


def label_by_number(number: int) -> Label | None:
    """The label of a badge; None for one who has left and for nobody."""
    person = _working(number)
    if person is None:
        return None
    return Label(KIND, person.name[:60], code=badge_of(person), lines=(NO_KEY,))


def _working(number: int) -> Person | None:
    return Person.objects.filter(pk=number, is_active=True).first()
