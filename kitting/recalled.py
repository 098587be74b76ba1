"""What of a kit or site a recall has set aside: said on the pages of those who stand before it; and
what else is set aside of what is packed, as no crew may fit it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from django.db.models import Exists, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Concat

from inventory.calling import Call, open_for
from inventory.models import Finding, Hold, NoticeHit, NoticeUnseen, Person, Place
from kitting.calling_crews import standing_unseen
from kitting.models import Kit
from kitting.shelves import in_its_places
from kitting.tallies import Progress


def in_kit(kit: Kit) -> QuerySet[NoticeHit]:
    """Return what a recall keeps set aside of what travels in a kit or stands at its site."""
    site = kit.job.site.place
    lots = Q(
        in_its_places(kit, "hold__lot__holdings__place__"), hold__lot__holdings__quantity__gt=0
    )
    return _open(in_its_places(kit, "hold__unit__place__") | lots | _at(site))


def holding(kits: QuerySet[Kit]) -> QuerySet[Kit]:
    """The same kits with `holds`: whether anything packed of them is set aside."""
    subject = Concat(Value("kit:"), OuterRef("code"))
    inside = Q(unit__place__subject=subject) | Q(unit__place__parent__subject=subject)
    return kits.annotate(holds=Exists(Hold.objects.filter(inside, release=None)))


def with_aside(kits: Iterable[Progress]) -> dict[int, Progress]:
    """Return id of a kit -> its progress with what is packed of it and set aside, in one query;
    none where `holding` said that there is nothing.

    What somebody told as damaged is among its lines already.
    """
    found = {one.kit.pk: one for one in kits}
    of = {one.kit.subject: pk for pk, one in found.items() if getattr(one.kit, "holds", True)}
    if not of:
        return found
    inside = Q(unit__place__subject__in=of) | Q(unit__place__parent__subject__in=of)
    told = Finding.objects.filter(kind=Finding.Kind.DAMAGED, unit=OuterRef("unit"))
    holds = Hold.objects.filter(inside, release=None).exclude(Exists(told)).order_by("pk")
    for hold in holds.select_related("unit__item", "unit__lot", "unit__place__parent"):
        around = hold.unit.place.way_up() if hold.unit and hold.unit.place else []
        kit = next((of[place.subject] for place in around if place.subject in of), None)
        if kit is not None and f"{hold.unit} " not in " ".join(found[kit].aside):
            words = f"{hold.unit} is in it and set aside: {hold.reason}"
            found[kit] = replace(found[kit], aside=(*found[kit].aside, words))
    return found


def at_site(site: Place) -> QuerySet[NoticeHit]:
    """Return what a recall keeps set aside at a site, on the wall or not."""
    return _open(_at(site))


def unseen_at(site: Place) -> list[NoticeUnseen]:
    """Return what a recall names at a site and still nobody has seen."""
    named = NoticeUnseen.objects.filter(call__place=site, call__notice__end=None)
    found = list(named.select_related("item", "call__notice"))
    still = {(one.item_id, one.words) for one in standing_unseen(site)} if found else set()
    return [one for one in found if (one.item_id, one.words) in still]


def unread(person: Person) -> list[Call]:
    """Return the open calls that reach this person."""
    return open_for(person)


def _at(site: Place) -> Q:
    return Q(hold__unit__place=site) | Q(hold__unit__place__parent=site)


def _open(where: Q) -> QuerySet[NoticeHit]:
    found = NoticeHit.objects.filter(where, hold__release=None).distinct().order_by("pk")
    return found.select_related("hold__unit__item", "hold__unit__place", "hold__lot__item")
