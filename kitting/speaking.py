"""Which language a page is in: a technician's is the phone's own or the one chosen on it.

The office's and the warehouse's pages are English. The words are in kitting/locale; what scripts
and the record say is put into the language where it is shown (inventory/static/inventory/words.js).
"""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.cache import patch_vary_headers


class SpeakingMiddleware:
    """Let a page speak the language of who reads it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """get_response: as Django has it."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer in the language; whoever keeps the page is told what it hangs on."""
        if not request.user.is_authenticated or not request.user.has("technician"):
            return self.get_response(request)
        with translation.override(translation.get_language_from_request(request)):
            response = self.get_response(request)
        patch_vary_headers(response, ("Accept-Language", "Cookie"))
        return response
