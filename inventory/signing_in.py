"""Who is signed in, asked at every page: Django's own session and person, by kept statements.

`SessionStore` makes this module a SESSION_ENGINE, `Backend` is in AUTHENTICATION_BACKENDS.
"""

from __future__ import annotations

from django.contrib.auth.backends import ModelBackend
from django.contrib.sessions.backends import db
from django.contrib.sessions.models import Session
from django.utils import timezone

from inventory.models import Person
from inventory.rows import Question, Slot

_SESSION = Question(
    lambda: Session.objects.filter(
        session_key=Slot(Session, "session_key"),
        expire_date__gt=Slot(Session, "expire_date", "now"),
    )
)
_PERSON = Question(lambda: Person.objects.filter(pk=Slot(Person, "id")))


class SessionStore(db.SessionStore):
    """Sessions in the database, as Django keeps them."""

    def _get_session_from_db(self) -> Session | None:
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
