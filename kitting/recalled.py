"""What of a kit or site a recall has set aside: said on the pages of those who stand before it."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from inventory.calling import Call, open_for
from inventory.models import NoticeHit, NoticeUnseen, Person, Place
from kitting.calling_crews import standing_unseen
from kitting.models import Kit
from kitting.shelves import in_its_places


def in_kit(kit: Kit) -> QuerySet[NoticeHit]:
    """Return what a recall keeps set aside of what travels in a kit or stands at its site."""
    site = kit.job.site.place
    lots = Q(
        in_its_places(kit, "hold__lot__holdings__place__"), hold__lot__holdings__quantity__gt=0
    )
    return _open(in_its_places(kit, "hold__unit__place__") | lots | _at(site))


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
