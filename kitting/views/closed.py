"""A page of a kit's work, while there is work: of a closed kit it says so, and offers no act."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.access import person_of
from inventory.models import Person
from kitting import recalled
from kitting.models import Kit

Page = Callable[[HttpRequest, Kit], HttpResponse]
CLOSED = 409  # to a form that was sent all the same


def while_open(
    read: Callable[[Person, str], Kit], back: str
) -> Callable[[Page], Callable[..., HttpResponse]]:
    """Let a page be handed the kit that `read` finds, and be shown while that kit is not closed.

    back: name of the route of the page that tells of the whole kit or job.
    """

    def of(page: Page) -> Callable[..., HttpResponse]:
        @wraps(page)
        def shown(request: HttpRequest, code: str) -> HttpResponse:
            kit = read(person_of(request), code)
            if kit.closed_by_id is None:
                return page(request, kit)
            return told(request, kit, back)

        return shown

    return of


def told(request: HttpRequest, kit: Kit, back: str) -> HttpResponse:
    """Return the page that a closed kit has in the place of those of its work."""
    context = {
        "kit": kit,
        "job": kit.job,
        "back": reverse(back, args=[kit.code if back == "kit" else kit.job.code]),
        "recalled": recalled.in_kit(kit),
        "unseen": recalled.unseen_at(kit.job.site.place),
    }
    status = CLOSED if request.method == "POST" else None
    return render(request, "kitting/closed.html", context, status=status)
