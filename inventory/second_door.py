"""Who must have a second factor and has none reaches only the page that sets one up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse

from inventory import second_factor
from inventory.models import Person

SET_UP_FIRST = "Expected a second factor. Set one up on the page My sign-in first."


class SecondFactorMiddleware:
    """Stands behind the one that asks who is there; pages for strangers stay open."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], *_: Any
    ) -> HttpResponse | None:
        """Lead on to the set-up, or refuse a program; None where nothing stands in the way."""
        person = request.user
        if not isinstance(person, Person) or not second_factor.wanted_of(person):
            return None
        api = request.path.startswith("/api/")  # asks by itself who is there
        for_all = not api and not getattr(view, "login_required", True)
        if request.session.get("second_factor") or for_all:
            return None
        if second_factor.of(person) is not None:  # made a manager while signed in without it
            logout(request)
            return redirect("sign_in")
        if api:
            problem = {"type": "about:blank", "title": "Not allowed", "where": "", "status": 403}
            problem["detail"] = SET_UP_FIRST
            return JsonResponse(problem, status=403, content_type="application/problem+json")
        set_up = reverse("own_second_factor")
        return None if request.path == set_up else redirect(set_up)
