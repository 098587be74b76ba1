"""Which language a page is in: a technician's is the phone's own or the one chosen on it, and so is
what somebody reads who has not signed in.

The office's and the warehouse's pages are English. The words are in kitting/locale; what code puts
together is said so where it is shown (`told`), what scripts and the record say in the browser
(inventory/static/inventory/words.js).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext

from inventory.templatetags.amounts import marked
from kitting.reason_words import REASONS
from kitting.sentences import SENTENCES

PHONE = "/my/"  # where the pages of a technician's day are
ENGLISH = re.compile(r"/api/")  # answers to scripts
FIGURE = re.compile(r"^\d[\d,]*(\.\d+)?(?=$| (x|m|ml|m\u00b2|%)( |$))")  # that opens what is said
_SLOT = re.compile(r"\{(\d)\}")


class SpeakingMiddleware:
    """Let a page speak the language of who reads it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """get_response: as Django has it."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer in the language; whoever keeps the page is told what it hangs on."""
        if not _speaks(request):
            return self.get_response(request)
        with translation.override(translation.get_language_from_request(request)):
            response = self.get_response(request)
        patch_vary_headers(response, ("Accept-Language", "Cookie"))
        return response


def _speaks(request: HttpRequest) -> bool:
    """Whether a page is in the phone's language: of who fits and does office work besides, only
    those of the day are, for the office has pages of its own among the others."""
    path, user = request.path_info, request.user
    if ENGLISH.match(path):
        return False
    if not user.is_authenticated:
        return True
    return user.has("technician") and (path.startswith(PHONE) or user.roles == ["technician"])


def told(sentence: str) -> str:
    """A sentence in the language of the page; what nobody wrote stays as it came.

    Of several that fit, the one with the most words of its own counts; what stands in its slots is
    said in the language too.
    """
    return _told(str(sentence), SENTENCES)  # a choice's or a form's may be a promise of one


def told_why(sentence: str) -> str:
    """The same of what the parts list's reasons are put together from."""
    return _told(sentence, REASONS)


def _told(sentence: str, table: tuple[str, ...]) -> str:
    if not sentence or not spoken():
        return sentence
    own = gettext(sentence)
    if own != sentence:
        return own
    for pattern, english in _patterns(table):
        found = pattern.fullmatch(sentence)
        if found:
            said = gettext(english)
            for number, words in enumerate(found.groups()):
                said = said.replace(f"{{{number}}}", _told(words, table))
            return said
    return FIGURE.sub(lambda figure: marked(figure[0]), sentence, count=1)


def spoken() -> bool:
    """Whether the page is in another language than English."""
    return not (translation.get_language() or "en").startswith("en")


@cache
def _patterns(table: tuple[str, ...]) -> tuple[tuple[re.Pattern[str], str], ...]:
    """Slots stand in the order of their numbers in the English sentence."""
    slotted = sorted(table, key=lambda one: len(_SLOT.sub("", one)), reverse=True)
    return tuple(
        (re.compile(_SLOT.sub("(.+?)", re.sub(r"([^\w\s{}])", r"\\\1", one)), re.DOTALL), one)
        for one in slotted
        if "{0}" in one
    )
