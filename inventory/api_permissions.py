"""Whom the API answers: who is signed in, and who the page that asks was drawn for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request

from inventory.models import Person

if TYPE_CHECKING:
    from rest_framework.views import APIView  # it needs the permissions first

HEADER = "X-Person"


class SamePerson(IsAuthenticated):
    """A page says in X-Person for whom it was drawn.

    It may have stayed open while somebody else signed in in the same browser: what the one scanned
    must not be taken as the other's.
    """

    message = "Somebody else has signed in on this device since. Nothing was taken."

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Whether somebody is signed in, and is the one of the page, if it names one."""
        if not super().has_permission(request, view) or not isinstance(request.user, Person):
            return False
        said = request.headers.get(HEADER, "")
        return not said or said == str(request.user.uid)
