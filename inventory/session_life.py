"""How long somebody stays signed in, and where."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.sessions.backends.base import SessionBase
from django.db.models import OuterRef, Subquery
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from rest_framework.request import Request

from inventory.amending import amended
from inventory.lock import writing
from inventory.models import Event, Person, Role, SignIn

TIMES = ("since", "used")  # in the session: when it began, when it was used last, to the day
AGAIN = timedelta(days=1)  # so often the idle time begins anew: not each page writes a row


def ends(person: Person, since: datetime, used: datetime) -> datetime:
    """Return when a sign-in ends that began at `since` and is used no more after `used`.

    Managers: so many hours after it began. Others: so many unused, and so many in all.
    """
    if person.has(Role.MANAGER):
        return since + timedelta(hours=settings.MANAGER_HOURS)
    most = since + timedelta(hours=settings.SESSION_MOST_HOURS)
    return min(used + timedelta(hours=settings.SESSION_HOURS), most)


class SessionLifeMiddleware:
    """Ends a sign-in that lasts too long by now, and lets one in use last on."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        person, since = request.user, request.session.get("since")
        if isinstance(person, Person) and since:
            self._judge(request, person, datetime.fromisoformat(since))
        return self.get_response(request)

    def _judge(self, request: HttpRequest, person: Person, since: datetime) -> None:
        now = timezone.now()
        if now >= ends(person, since, now):
            logout(request)
            return
        used = datetime.fromisoformat(request.session.get("used", since.isoformat()))
        if now >= used + AGAIN and not person.has(Role.MANAGER):
            request.session["used"] = now.isoformat()  # saved, and the cookie sent anew


@dataclass(frozen=True, slots=True)
class Browser:
    """One browser that somebody is signed in on."""

    ref: str  # what a page calls it: the key itself opens the door
    handheld: bool
    label: str  # what the device calls itself, often nothing
    since: datetime
    sent: datetime | None  # when its latest scan came
    here: bool  # whether this page is on it


def ends_at(request: Request) -> int:
    """Return when the session of a request ends, in seconds since 1970; 0 if it has none."""
    kept = SignIn.objects.filter(pk=request.session.session_key).select_related("person").first()
    if kept is None or kept.person is None:
        return 0
    latest = ends(kept.person, kept.since, timezone.now())  # who became a manager since: sooner
    return int(min(kept.expire_date, latest).timestamp())


def browsers(person: Person, here: SessionBase | None = None) -> list[Browser]:
    """Return where somebody is signed in, the latest first. here: the session of who asks."""
    return [
        Browser(
            ref=_ref(one.session_key),
            handheld=one.handheld,
            label=one.device.label if one.device else "",
            since=one.since,
            sent=one.sent,  # type: ignore[attr-defined]  # annotated
            here=here is not None and one.session_key == here.session_key,
        )
        for one in _standing(person)
    ]


def sign_out_at(person: Person, ref: str, by: Person) -> bool:
    """End one of somebody's sign-ins; False where it is over already.

    A phone's queue stays on it, and goes out after signing in again. by: the person, or a manager.
    """
    with writing():
        found = next((one for one in _standing(person) if _ref(one.session_key) == ref), None)
        if found is None:
            return False
        SignIn.objects.filter(pk=found.pk).delete()
        if by.pk != person.pk:
            was, now = {"signed in since": found.since.isoformat()}, {"signed in since": ""}
            amended(by, f"person:{person.username}", was, now)
    return True


def _standing(person: Person) -> list[SignIn]:
    of_device = Event.objects.filter(device=OuterRef("device")).order_by("-seq")
    rows = SignIn.objects.filter(person=person, expire_date__gt=timezone.now())
    rows = rows.annotate(sent=Subquery(of_device.values("received_at")[:1]))
    return list(rows.select_related("device").order_by("-since"))


def _ref(key: str) -> str:
    return salted_hmac("inventory.session_life", key, algorithm="sha256").hexdigest()[:20]
