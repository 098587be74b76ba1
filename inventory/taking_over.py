"""Somebody takes the scanner of a device on which another one is signed in."""

from __future__ import annotations

from inventory.badges import person_by_badge
from inventory.intake import Act, Verdict
from inventory.models import Role
from inventory.moving import CannotMove, Writing

NOBODY = "Nobody who works here has this badge: scans are signed as before"


def badge(writes: Writing) -> Verdict:
    """Say whether the badge holds; nothing is kept of it but that it was scanned.

    The scans that follow name it in "hands". No name stands here: the record never forgets one.
    """
    person = person_by_badge(writes.line.text)
    if person is None:
        raise CannotMove(NOBODY)
    if person.pk == writes.person.pk:
        return Verdict("applied", "Your own badge: you have the scanner.")
    return Verdict("applied", "This badge has the scanner. Who is signed in stays so.")


BADGE = Act("badge", frozenset({Role.WAREHOUSE, Role.MANAGER}), badge)
