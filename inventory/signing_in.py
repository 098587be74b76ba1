"""Who is signed in, asked at every page: Django's own session and person, by kept statements.

`SessionStore` makes this module a SESSION_ENGINE, `Backend` is in AUTHENTICATION_BACKENDS.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth import SESSION_KEY
from django.contrib.auth.backends import ModelBackend
from django.contrib.sessions.backends import db
from django.utils import timezone

from inventory import session_life
from inventory.models import Person, SignIn
from inventory.rows import Question, Slot

_SESSION = Question(
    lambda: SignIn.objects.filter(
        session_key=Slot(SignIn, "session_key"),
        expire_date__gt=Slot(SignIn, "expire_date", "now"),
    )
)
_PERSON = Question(lambda: Person.objects.filter(pk=Slot(Person, "id")))


class SessionStore(db.SessionStore):
    """Sessions in the database, as Django keeps them, and whose each is."""

    @classmethod
    def get_model_class(cls) -> type[SignIn]:
        """Return the table."""
        return SignIn

    def create_model_instance(self, data: dict[str, Any]) -> SignIn:
        """Return the row of a session: saved as a whole, so all of it is in the data."""
        since = data.setdefault("since", timezone.now().isoformat())
        row = super().create_model_instance(data)
        assert isinstance(row, SignIn)
        row.person_id = int(data[SESSION_KEY]) if SESSION_KEY in data else None
        row.since = datetime.fromisoformat(since)
        person = Person.objects.filter(pk=row.person_id).first() if row.person_id else None
        if person is not None:
            row.expire_date = session_life.ends(person, row.since, timezone.now())
        row.handheld = data.get("handheld", False)
        row.device_id = data.get("device")
        return row

    def _get_session_from_db(self) -> SignIn | None:
        found = _SESSION.one(session_key=self.session_key, now=timezone.now())
        if found is None:
            self._session_key = None
        return found


class Backend(ModelBackend):
    """Names and passwords, as Django judges them."""

    def get_user(self, user_id: int) -> Person | None:
        """Return the person of a session, None of one who has left."""
        person = _PERSON.one(id=user_id)
        return person if person is not None and self.user_can_authenticate(person) else None
