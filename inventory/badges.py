"""A badge: a code that says who stands at the bench.

It opens nothing: its number is counted, not secret, and anybody can print another. It never signs
anybody in; it only says whose hands the next scans are, on a device that is signed in already.
"""

from __future__ import annotations

from inventory.codes import own
from inventory.codes.errors import CodeError
from inventory.intake import Act, Verdict
from inventory.labels.label import Label
from inventory.models import Person, Role
from inventory.moving import CannotMove, Writing

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


def who_held(signed_in: str, badge: str) -> str:
    """Who it was: the one whose badge stands in an event, a leaver too, and at whose sign-in.

    signed_in: a name. badge: "" where nobody's was scanned.
    """
    if not badge or not own.is_valid(badge):
        return signed_in
    read = own.parse(badge)
    named = Person.objects.filter(pk=read.number) if read.kind == KIND else Person.objects.none()
    name = named.values_list("name", flat=True).first()
    return f"{name}, at the sign-in of {signed_in}" if name and name != signed_in else signed_in


def badge(writes: Writing) -> Verdict:
    """Somebody takes the scanner of a device on which another one is signed in.

    Nothing is kept of it here: the scans that follow name the badge in "hands".
    """
    person = person_by_badge(writes.line.text)
    if person is None:
        raise CannotMove("Nobody who works here has this badge: scans are signed as before")
    if person.pk == writes.person.pk:
        return Verdict("applied", f"{person.name} has the scanner.")
    return Verdict("applied", f"{person.name} has the scanner, {writes.person.name} is signed in.")


BADGE = Act("badge", frozenset({Role.WAREHOUSE, Role.MANAGER}), badge)


def label_by_number(number: int) -> Label | None:
    """The label of a badge; None for one who has left and for nobody."""
    person = _working(number)
    if person is None:
        return None
    return Label(KIND, person.name[:60], code=badge_of(person), lines=(NO_KEY,))


def _working(number: int) -> Person | None:
    return Person.objects.filter(pk=number, is_active=True).first()
