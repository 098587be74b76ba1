"""How long somebody stays signed in."""

from __future__ import annotations

from django.contrib.sessions.models import Session
from rest_framework.request import Request


def ends_at(request: Request) -> int:
    """Return when the session of a request ends, in seconds since 1970; 0 if it has none."""
    kept = Session.objects.filter(pk=request.session.session_key).first()
    return int(kept.expire_date.timestamp()) if kept else 0
