"""What a person reads, or a program gets, where a page or an address answers no."""

from __future__ import annotations

import secrets
import sys

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.log import log_response

from inventory.api_errors import CONTENT_TYPE, TITLES

WORDS = {
    403: "Your work here does not include this page. A manager can change that.",
    404: "There is no such page, or it is not for you.",
}
BROKEN = "Something broke here. It is written down under the number {0}."
STALE = "This page was open for too long. Go back, load it again, and press once more."


def not_there(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer 404: the same words for what does not exist and for what is another's."""
    return _refusal(request, 404, WORDS[404])


def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer 403 to somebody whose roles do not open the page."""
    return _refusal(request, 403, WORDS[403])


def stale(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer 403 to a form without its token: an old page, or another site's."""
    return _refusal(request, 403, STALE)


def broken(request: HttpRequest) -> HttpResponse:
    """Answer 500 to what no code of ours foresaw: nothing but a number that finds it in the log.

    Asks neither the database nor who is there: either may be what broke.
    """
    number = secrets.token_hex(4).upper()
    if request.path.startswith("/api/"):
        response: HttpResponse = _problem(500, BROKEN.format(number))
    else:
        response = HttpResponse(render_to_string("500.html", {"number": number}), status=500)
    error = sys.exception()
    log_response(
        "number %s: %s", number, request.path, response=response, request=request, exception=error
    )
    return response


def _refusal(request: HttpRequest, status: int, words: str) -> HttpResponse:
    if request.path.startswith("/api/"):
        return _problem(status, words)
    context = {"title": TITLES[status], "words": words}
    return render(request, "kitting/refused.html", context, status=status)


def _problem(status: int, words: str) -> JsonResponse:
    body = {"type": "about:blank", "title": TITLES[status], "detail": words, "where": ""}
    return JsonResponse(body, status=status, content_type=CONTENT_TYPE)
