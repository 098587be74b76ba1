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


def named(text: str) -> Person | None:
    """Whose badge this is, a leaver's too; None for any other text and for nobody's number."""
    try:
        read = own.parse(text.strip())
    except CodeError:
        return None
    return Person.objects.filter(pk=read.number).first() if read.kind == KIND else None


def person_by_badge(text: str) -> Person | None:
    """Who a scanned badge names; None for any other text and for one who has left."""
    person = named(text)
    return person if person is not None and person.is_active else None


def of_a_leaver(badge: str) -> str:
    """Words where a badge is of somebody who has left, else "".

    Without a name, which could never be erased from a record again.
    """
    person = named(badge)
    if person is None or person.is_active:
        return ""
    return f"The badge {badge} is of somebody who has left."


def who_held(signed_in: str, badge: str) -> str:
    """Who it was: the one whose badge stands in an event, a leaver too, and at whose sign-in.

    signed_in: a name. badge: "" where nobody's was scanned.
    """
    person = named(badge) if badge else None
    if person is None or person.name in ("", signed_in):
        return signed_in
    return f"{person.name}, at the sign-in of {signed_in}"


def label_by_number(number: int) -> Label | None:
    """The label of a badge; None for one who has left and for nobody."""
    person = Person.objects.filter(pk=number, is_active=True).first()
    if person is None:
        return None
    return Label(KIND, person.name[:60], code=badge_of(person), lines=(NO_KEY,))
