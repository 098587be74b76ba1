"""A form that is sent twice acts once: each page carries a key of its own, as each scan does.

A press that seemed to hang and was pressed again, a page sent anew after the signal came back: the
second is led where the first one led.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils.crypto import salted_hmac

from inventory.access import person_of
from inventory.lock import writing
from inventory.models import SentForm

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponse]
KEY = "once"  # field of the form
OF_THE_SESSION = frozenset({"csrfmiddlewaretoken"})  # fields that say nothing
TWICE = "That was sent twice and counts once."
OTHERWISE = (
    "This page was sent before, with other words in it; those count. Nothing was stored now: open "
    "the page anew."
)


def once(view: View[P]) -> View[P]:
    """Let a form that leads on, by a redirect, do so once for each page that was opened.

    It acts under the ledger's lock, so of two that come at one moment the second sees the first.
    Another content under a key that has acted is refused and told. A form without a key acts.
    """

    @wraps(view)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if request.method != "POST" or KEY not in request.POST:
            return view(request, *args, **kwargs)
        key, person, content = _key(request.POST[KEY]), person_of(request), _content(request)
        with writing():
            sent = SentForm.objects.filter(uid=key).first()
            if sent is None:
                answer = view(request, *args, **kwargs)
                if isinstance(answer, HttpResponseRedirect):
                    SentForm.objects.create(
                        uid=key, person=person, sha256=content, led_to=answer.url[:500]
                    )
                return answer
        if (sent.person_id, sent.sha256) != (person.pk, content):
            messages.error(request, OTHERWISE)
            return redirect(request.path)
        messages.info(request, TWICE)
        return redirect(sent.led_to)

    guarded.acts_once = True  # type: ignore[attr-defined]  # for the test that looks for others
    return guarded


def _key(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise BadRequest(f"{KEY}: expected the key of a page, got {text[:40]!r}") from None


def _content(request: HttpRequest) -> str:
    """Return a hash of what was sent, the token of the session apart.

    A first password may be in it: without the site's secret nobody can try words against the hash.
    """
    fields = {name: sent for name, sent in request.POST.lists() if name not in OF_THE_SESSION}
    files = {name: [_hash(file) for file in sent] for name, sent in request.FILES.lists()}
    text = json.dumps([request.path, fields, files], sort_keys=True)
    return salted_hmac("inventory.once", text, algorithm="sha256").hexdigest()


def _hash(file: UploadedFile[bytes]) -> str:
    found = hashlib.sha256()
    for part in file.chunks():
        found.update(part)
    file.seek(0)  # the page reads it anew
    return found.hexdigest()
