"""What is another crew's stays hidden whatever somebody fills in: queries, forms and events.

OWASP ASVS 5.0, 8.2.2; test_cast.py does the same for what stands in the path of an address. The
acts are those that are registered, the words of queries those that the code reads, so that a new
one is asked too.
"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import product
from typing import Any
from unittest import mock

from django.db import transaction
from django.http import QueryDict

from inventory import intake
from inventory.models import Event, Note
from inventory.photos import take_in
from kitting import handing_over
from tests.firm import Phone, element_string
from tests.people import Cast, Work, picture
from tests.test_cast import ONCE, ROWS, address, browser, content, hidden_from

MEMBER = "technician"
LIBRARY = {"format", "version", "lang"}  # words of the library behind the API
PAGES = sorted(
    {
        (row["route"], row["object"])
        for row in ROWS
        if row["method"] == "GET" and row[MEMBER] == "200"
    }
)


@contextmanager
def read_words() -> Iterator[set[str]]:
    """The words that whatever is asked meanwhile looks for in a query or a form."""
    found: set[str] = set()

    def noting(name: str) -> Any:
        was = getattr(QueryDict, name)

        def noted(self: QueryDict, key: str, *more: Any) -> Any:
            found.add(key)
            return was(self, key, *more)

        return mock.patch.object(QueryDict, name, noted)

    with noting("__getitem__"), noting("__contains__"), noting("getlist"):
        yield found


def foreign(work: Work) -> list[str]:
    """What somebody may have heard of another crew's job: its numbers, names and places."""
    bag = next(secret for secret in work.secrets if secret.startswith("LBG"))
    about = (work.kit.subject, f"site:{work.job.site.place.code}", work.kit.code)
    return [*work.secrets[:8], bag, element_string(work.serial), *about]


def others(cast: Cast, said: str, *given: str) -> list[str]:
    """What an answer tells of another crew beyond what was given to it."""
    hidden = [secret for secret in hidden_from(cast, MEMBER) if secret in said]
    return [secret for secret in hidden if not any(secret in text for text in given)]


@ONCE
def test_no_query_opens_what_is_anothers(db: None, cast: Cast) -> None:
    """Each word that a page looks for in its query, filled with whatever is another crew's."""
    client, seen = browser(cast, MEMBER), set()
    for route, about in PAGES:
        asked = address(cast, route, MEMBER, about)
        with read_words() as words:
            client.get(asked)
        seen |= words
        for word, value in product(words - LIBRARY, foreign(cast.works["other_technician"])):
            response, what = client.get(asked, {word: value}), f"{route}: {word}={value}"
            assert response.status_code in (200, 302, 404), what
            assert others(cast, content(response), value) == [], what
    assert {"q", "page", "item", "thing", "next"} <= seen


def lines(cast: Cast) -> Iterator[tuple[str, dict[str, Any], str]]:
    """(step, fields, what is foreign in them) of each act and each field of an event."""
    own, other = cast.works[MEMBER], cast.works["other_technician"]
    label = element_string(other.serial)
    bag, parcel = (next(s for s in other.secrets if s.startswith(kind)) for kind in ("LBG", "LBP"))
    done = Event.objects.filter(person=cast.people["other_technician"]).latest("pk").uid
    note = Note.objects.create(text="Gate code", person=cast.people["other_technician"])
    texts = (label, other.serial, other.job.code, other.kit.code, bag, parcel)
    filled = [("text", text) for text in texts] + [("with", label), ("start", bag)]
    filled += [("target", parcel), ("photo", other.photo.sha256), ("reverses", str(done))]
    filled += [("note", str(note.uid)), ("reason", other.serial), ("subject", other.kit.subject)]
    about = {"text": element_string(own.serial), "subject": own.kit.subject}
    for step, act in sorted(intake.ACTS.items()):
        if "technician" in act.roles:
            yield from ((step, about | {name: value}, value) for name, value in filled)


@ONCE
def test_no_event_tells_of_anothers_job(db: None, cast: Cast) -> None:
    """Each act that technicians send, with one field of another crew: never more than was said."""
    person, count = cast.people[MEMBER], 0
    device = Event.objects.filter(person=person).latest("pk").device
    for step, fields, given in lines(cast):
        with transaction.atomic():
            result = Phone(person, device, seq=1000 + count).scan(step, **fields)
            transaction.set_rollback(True)
        said, count = json.dumps(result.as_json()), count + 1
        assert others(cast, said, given) == [], f"{step} {fields}: {said}"
    assert count > 300


def test_anothers_picture_and_words_stand_on_no_own_sheet(db: None, cast: Cast) -> None:
    """Who knows what a picture is called is not shown it on the own hand-over sheet."""
    own, other = cast.works[MEMBER], cast.works["other_technician"]
    tariq, tove = cast.people[MEMBER], cast.people["other_technician"]
    phone = Phone(tariq, Event.objects.filter(person=tariq).latest("pk").device, seq=1000)

    def signed(photo: str, note: Note) -> handing_over.Signed:
        phone.scan("sign_over", photo=photo, note=str(note.uid), subject=own.kit.subject)
        found = handing_over.signed(own.kit)
        assert found is not None
        return found

    theirs = signed(other.photo.sha256, Note.objects.create(text="Gate code", person=tove))
    assert (theirs.photo, theirs.name) == (None, "")
    mine = take_in(tariq, picture(2000), own.kit.subject)
    drawn = signed(mine.sha256, Note.objects.create(text="A. Plum", person=tariq))
    assert (drawn.photo, drawn.name) == (mine, "A. Plum")
