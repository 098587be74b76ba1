"""What a technician, or who is at the door, gets where something is refused: in the language too.

Forms filled in wrongly, pages that are not there or not for them, pages that stood open for too
long, too many tries, and what breaks. Typed is what has no letters, so that all letters are ours.
"""

import secrets
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import translation

from inventory import second_factor, wrong_passwords
from kitting import explaining, families
from kitting.bench_forms import FORMS
from kitting.forms import PREFIX
from kitting.views import my
from tests.pages.test_stretched import GERMAN, Said, english_left, stretched
from tests.people import PASSWORD, Cast

__all__ = ["stretched"]  # a fixture

DJANGO = (  # words of its own, with translations of its own
    "Dieses Passwort ist zu üblich.",
    "Dieses Passwort ist zu kurz. Es muss mindestens 12 Zeichen enthalten.",
)
ODD, TWO_WAYS, HUGE = "#?", "1.250", "9" * 9
Pages = Iterator[tuple[str, str]]


def bench(cast: Cast) -> Pages:
    """Each small form with nothing, signs, what is too large, what reads two ways."""
    for kind in FORMS:
        for typed in ("", ODD, HUGE, TWO_WAYS, "-1"):
            asked = dict.fromkeys(kind.base_fields, typed)
            yield f"bench {kind.key} {typed}", said(cast, "bench", {"ask": kind.key, **asked})


def said(cast: Cast, route: str, data: dict[str, Any], *args: str, post: bool = False) -> str:
    """The page that a technician gets."""
    client = cast.clients["technician"]
    ask = client.post if post else client.get
    return ask(reverse(route, args=args), data, headers=GERMAN).content.decode()


def answers(cast: Cast) -> Pages:
    """A site described and a site that differs, answered with nothing and wrongly."""
    work = cast.works["technician"]
    site, job = work.job.site.place.code, work.job.code
    axes = {f"{PREFIX}{name}" for name in work.job.configuration}
    for typed in ("", ODD, TWO_WAYS, HUGE):
        told = {**dict.fromkeys(axes, typed), "stacks": typed, "reason": typed}
        for stacks in ("2", typed):
            data = {"family": "tower", "save": "1", **told, "stacks": stacks}
            yield f"describe {typed}", said(cast, "site_describe", data, site, post=True)
        yield f"differs {typed}", said(cast, "my_differs", told, job, post=True)


def not_on_the_list(cast: Cast) -> Pages:
    """Why a kit has none of an item, of each that it has not, and of what nobody lists."""
    kit = cast.works["technician"].kit
    family = families.family_of(kit.edition)
    listed = {*kit.lines.values_list("item__code", flat=True)}
    route = "kit_why"
    yield "unlisted", said(cast, route, {"item": "9-9"}, kit.code)
    yield "near", said(cast, route, {"item": "CT-BRACKET1"}, kit.code)
    yield "not on it", said(cast, route, {"item": "CT-SHELF"}, kit.code)
    with translation.override("de"):
        for code in sorted({*family.items} - listed):
            why = explaining.told(kit, code).why
            assert why is not None
            assert why.missing, code
            yield f"no {code}", "".join(f"<p>{one}</p>" for one in (why.answer, *why.missing))


def own_sign_in(cast: Cast) -> Pages:
    """The own password, and the code beside it."""
    for old, new in (
        ("", ""),
        ("1", "2"),
        (PASSWORD, PASSWORD),
        (PASSWORD, "11111111111"),
        (PASSWORD, "1" * 12),
    ):
        data = {"old": old, "new": new}
        yield f"password {new}", said(cast, "own_sign_in", data, post=True)
    for password, code in (("", ""), ("1", "2"), (PASSWORD, "000000")):
        data = {"password": password, "code": code}
        yield f"second factor {code}", said(cast, "own_second_factor", data, post=True)
    yield (
        "no such sign-in",
        said(cast, "own_sign_in", {"sign_out_at": "1"}, post=True) + said(cast, "own_sign_in", {}),
    )


def at_the_door(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> Pages:
    """Who has not signed in: nothing, wrong, too often; a code that does not fit."""
    door, client = reverse("sign_in"), Client()
    for data in ({}, {"username": "1", "password": "1"}, {"username": "tariq", "password": "1"}):
        yield f"door {data}", client.post(door, data, headers=GERMAN).content.decode()
    person = cast.people["technician"]
    monkeypatch.setattr(second_factor, "of", lambda person: object())
    monkeypatch.setattr(second_factor, "fits", lambda *given: False)
    halfway = client.post(door, {"username": person.username, "password": PASSWORD}, headers=GERMAN)
    yield "code", client.get(halfway["Location"], headers=GERMAN).content.decode()
    for code in ("", "000000"):
        page = client.post(halfway["Location"], {"code": code}, headers=GERMAN)
        yield f"code {code}", page.content.decode()
    monkeypatch.setattr(wrong_passwords, "begin", lambda *given: timedelta(minutes=3))
    page = client.post(door, {"username": "tariq", "password": "1"}, headers=GERMAN)
    assert page.status_code == 429
    yield "too often", page.content.decode()


def refused(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> Pages:
    """Not there, not for them, from an old page, broken."""
    yield "not there", said(cast, "my_job", {}, "J9")
    yield "not allowed", said(cast, "stock", {})
    late = Client(enforce_csrf_checks=True)
    yield "stale", late.post(reverse("sign_in"), headers=GERMAN).content.decode()
    client = Client(raise_request_exception=False)
    client.force_login(cast.people["technician"])
    monkeypatch.setattr(my.overviews, "jobs_of_crew", broken)
    monkeypatch.setattr(secrets, "token_hex", lambda size: "12345678")  # no letters
    page = client.get(reverse("my_jobs"), headers=GERMAN)
    assert page.status_code == 500
    yield "broken", page.content.decode()


def broken(*given: object) -> None:
    """A fault of ours."""
    raise RuntimeError


@pytest.mark.usefixtures("stretched")
def test_no_refusal_is_english_on_a_technician_s_phone(
    db: None, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every page on which something is refused, as test_stretched.py has it of those in order."""
    pages = [
        *(*bench(cast), *answers(cast), *own_sign_in(cast), *not_on_the_list(cast)),
        *(*refused(cast, monkeypatch), *at_the_door(cast, monkeypatch)),
    ]
    assert len(pages) > 60
    assert all(not Said(html).marked for _, html in pages)
    left = english_left(pages, DJANGO)
    assert left == {}, "\n".join(f"{words}: {sorted(where)[:3]}" for words, where in left.items())
