"""Who came in, who did not, and who was refused: one line each to the logger lastbolt.security."""

from __future__ import annotations

import json
import logging
from collections import Counter
from collections.abc import Iterable

from django.http import HttpRequest

from inventory.models import Person
from inventory.wrong_passwords import address_of

log = logging.getLogger("lastbolt.security")


def note(request: HttpRequest, what: str, *, level: int = logging.INFO, **facts: str | int) -> None:
    """Write what happened, where from and the facts, never a secret.

    Values stand as JSON in ASCII: nothing in a name or an address begins a line or turns it round.
    """
    told = {"from": address_of(request), **facts}
    log.log(level, "%s %s", what, json.dumps(told, ensure_ascii=True))


def wrong(request: HttpRequest, name: str, what: str) -> None:
    """Note a sign-in that failed; a name that nobody has may be a password in the wrong field."""
    known = Person.objects.filter(username=name).exists()
    note(request, what, level=logging.WARNING, person=name if known else "nobody's name")


def events_refused(request: HttpRequest, person: Person, kinds: Iterable[str]) -> None:
    """Note how many scans of a batch were not taken, by kind: not allowed, malformed, another body.

    The answer to the batch is a yes all the same.
    """
    for kind, count in sorted(Counter(kinds).items()):
        facts = {"person": person.username, "kind": kind}
        note(request, "scans refused", level=logging.WARNING, count=count, **facts)


def refused(request: HttpRequest, person: Person, status: int) -> None:
    """Note that somebody who is signed in asked for what is not theirs, or not there."""
    facts = {"person": person.username, "method": request.method or "", "path": request.path[:200]}
    note(request, "refused", level=logging.WARNING, status=status, **facts)
