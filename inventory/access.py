"""Who may see what. Each view gets its objects here; what a person may not see is not there (404).

The upper house tells how its subjects ("kit:<code>") are judged by `let_see`; this house knows them
only as opaque texts.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse

from inventory import badges, labelling, photos, subjects
from inventory.labels.label import Label
from inventory.models import (
    BroughtFile,
    Claim,
    Delivery,
    Item,
    Notice,
    Person,
    Photo,
    Place,
    PrintJob,
    Return,
    Role,
)
from inventory.models.places import OWN_KINDS
from inventory.scanning import UP, Thing, resolve

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]


def person_of(request: HttpRequest) -> Person:
    """Return who is signed in. Raises PermissionDenied for a stranger."""
    if not isinstance(request.user, Person):
        raise PermissionDenied
    return request.user


def needs(*roles: str) -> Callable[[View[P]], View[P]]:
    """Open a view to people who hold one of these roles.

    Others get 403; at the address of one thing 404, as if there were no such thing.
    """

    def gate(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not person_of(request).has(*roles):
                raise Http404 if kwargs else PermissionDenied
            return view(request, *args, **kwargs)

        return guarded

    return gate


def at_desk(person: Person) -> bool:
    """Whether the person sees all stock and all jobs."""
    return person.has(Role.WAREHOUSE, Role.MANAGER)


def desk_only(person: Person, code: str) -> bool:
    """Whether the person may see a delivery or claim, whichever it is."""
    return at_desk(person)


def subject_read(person: Person, subject: str) -> bool:
    """Whether the person may see what is about this subject; nobody's subject is for the desk."""
    return at_desk(person) or subjects.may_see(person, subject)


def photo_read(person: Person, sha256: str) -> Photo:
    """Return a stored photo: the taker's own, one of a visible subject, any for the desk."""
    photo = photos.called([sha256]).get(sha256)
    if (
        photo is None
        or photo.erased
        or not (photo.person_id == person.pk or subject_read(person, photo.subject))
    ):
        raise Http404
    return photo


def brought_write(person: Person, code: str) -> BroughtFile:
    """Return a file brought in by its code: managers only; one only looked at is its person's."""
    files = BroughtFile.objects.select_related("person", "device")
    file = files.filter(code=code).first()
    if file is None or not person.has(Role.MANAGER):
        raise Http404
    if file.begun_at is None and file.person_id != person.pk:
        raise Http404
    return file


def item_read(person: Person, code: str) -> Item:
    """Return an item by its code, for the desk."""
    item = Item.objects.filter(code=code).first()
    if item is None or not at_desk(person):
        raise Http404
    return item


def item_write(person: Person, code: str) -> Item:
    """Return an item that this person may change: managers and warehouse."""
    return item_read(person, code)


def person_write(person: Person, uid: UUID) -> Person:
    """Return somebody whose entry this person may change: managers only."""
    found = Person.objects.filter(uid=uid).first()
    if found is None or not person.has(Role.MANAGER):
        raise Http404
    return found


def place_read(person: Person, code: str) -> Place:
    """Return a place by its code, for the desk."""
    place = Place.objects.filter(code=code).first()
    if place is None or not at_desk(person):
        raise Http404
    return place


def place_write(person: Person, code: str) -> Place:
    """Return a place of ours that this person may change: managers only."""
    found = Place.objects.filter(code=code, kind__in=OWN_KINDS, subject="").first()
    if found is None or not person.has(Role.MANAGER):
        raise Http404
    return found


def delivery_read(person: Person, code: str) -> Delivery:
    """Return a delivery by its code, for the desk."""
    found = Delivery.objects.filter(code=code).select_related("supplier", "carrier", "dock")
    delivery = found.first()
    if delivery is None or not at_desk(person):
        raise Http404
    return delivery


def return_read(person: Person, code: str) -> Return:
    """Return what comes back by its code, for the desk; none whose scan was undone."""
    found = Return.objects.filter(code=code, event__reversed_by=None)
    whole = found.select_related("event__person", "unit__item", f"unit__place__{UP}", "lot__item")
    back = whole.first()
    if back is None or not at_desk(person):
        raise Http404
    return back


def claim_read(person: Person, code: str) -> Claim:
    """Return a claim by its code, for the desk."""
    whole = Claim.objects.filter(code=code).select_related(
        "event__person", "partner", "delivery__supplier", "unit__item", "unit__place", "lot__item"
    )
    claim = whole.first()
    if claim is None or not at_desk(person):
        raise Http404
    return claim


def notice_read(person: Person, code: str) -> Notice:
    """Return a recall by its code, for the desk."""
    notice = Notice.objects.filter(code=code).select_related("partner", "by", "end__event").first()
    if notice is None or not at_desk(person):
        raise Http404
    return notice


def notice_write(person: Person, code: str) -> Notice:
    """Return a recall whose rule or note this person may change: managers only."""
    notice = notice_read(person, code)
    if not person.has(Role.MANAGER):
        raise Http404
    return notice


def label_read(person: Person, text: str) -> Label:
    """Return the label that a text asks for, for the desk; badges are for managers.

    Raises LabelRefused, naming the text.
    """
    if not at_desk(person):
        raise Http404
    numbered = labelling.by_number(text)
    if numbered is None or (numbered.kind == badges.KIND and not person.has(Role.MANAGER)):
        return labelling.label_of(resolve(text, "hand"))
    return numbered


def print_read(person: Person, number: str) -> PrintJob:
    """Return what was printed by its number, for the desk."""
    known = PrintJob.objects.select_related("printer")
    job = known.filter(pk=number).first() if re.fullmatch("[0-9]{1,15}", number) else None
    if job is None or not at_desk(person):
        raise Http404
    return job


def thing_read(person: Person, text: str) -> Thing:
    """Return what a scanned or typed text means, for the desk; kind unknown if nothing."""
    if not at_desk(person):
        raise Http404
    return resolve(text, "hand")
