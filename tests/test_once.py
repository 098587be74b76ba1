"""A form that is sent twice acts once; another content under its key is refused and told."""

import hashlib
import hmac
import json
import re
import threading
from datetime import date
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.messages import get_messages
from django.contrib.messages.storage.cookie import CookieStorage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connections
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.test import Client, RequestFactory
from django.urls import get_resolver

from inventory.models import Amendment, OrderLine, Partner, Person, Place, SentForm
from inventory.once import once
from tests import firm
from tests.people import PASSWORD, Cast, build, page_of
from tests.test_cast import ROWS, patterns
from tests.tree import TOP, files, name_of

# Pages that lead on and need no key of their own.
TWICE_IS_ONCE = {
    "sign_in": "signs in",
    "sign_in_code": "signs in",
    "sign_out": "signs out",
    "own_sign_in": "a second press finds that session over, or the old password old",
    "job_new": "its asking takes no lock; the part that stores acts once",
    "delivery": "a line of a serial list that is there is not entered again",
    "list_edition": "the same edition comes into use",
    "person_change": "writes the same over, the same password too",
    "place_change": "writes the same over",
    "van_day": "writes the same over",
    "printing": "a print is printed again once, and what came out is said once",
    "bring_in": "only keeps a file to be looked at",
    "brought_file": "a file is begun once, and each of its parts is an event with an id of its own",
}
TABS = 4
ONE = "01930000-0000-7000-8000-000000000001"


@pytest.fixture
def cast(db: None) -> Cast:
    return build()


def rows() -> dict[str, int]:
    """How many rows each table of both houses has, the keys of pages apart."""
    models = [
        model
        for house in ("inventory", "kitting")
        for model in apps.get_app_config(house).get_models()
        if model is not SentForm
    ]
    return {model._meta.db_table: model._default_manager.count() for model in models}


def posts(cast: Cast) -> list[tuple[str, dict[str, Any], str]]:
    """(address, what is sent, table that grows) of each page that enters something."""
    supplier = Partner.objects.get(code="north").pk
    job = cast.works["technician"].job
    line = cast.works["technician"].kit.lines.first()
    assert line is not None
    ordered = {"supplier": supplier, "item": cast.item.code, "quantity": 4}
    noted = {"supplier": supplier, "note": "LS-9", "boxes": 3, "dock": cast.dock.pk}
    hand = {"item": line.item.code, "step": line.step, "verb": "change", "reason": "more is safer"}
    limits = {"item": cast.item.code, "up_to_c": 25, "days": 180, "source": "manual 3"}
    bolt = "CT-BOLT6"
    carry, parts = {"item": bolt, "least": 2, "up_to": 4}, "CT-BOLT6 2"
    clock = {"partner": supplier, "about": "damage", "how": "phone", "hours": 24, "source": "terms"}
    return [
        ("/on-order/", {**ordered, "promised_on": date(2026, 12, 1)}, "inventory_orderline"),
        ("/deliveries/", noted, "inventory_delivery"),
        ("/places/", {"kind": "bin", "name": "Bin 9", "order": 9}, "inventory_place"),
        (
            "/items/new",
            {"code": "N", "name": "N", "tracking": "count", "unit": "piece", "mass_g": 0},
            "inventory_item",
        ),
        (
            f"/items/{cast.item.code}/",
            {"text": "N1", "pack_quantity": 1, "add_code": "yes"},
            "inventory_itemcode",
        ),
        ("/partners/", {"code": "east", "name": "East", "kind": "carrier"}, "inventory_partner"),
        ("/partners/", clock, "inventory_clock"),
        (
            "/printers/",
            {"name": "B", "address": "ipp://a/b", "layout": "a4-3x8", "dpi": 203},
            "inventory_printer",
        ),
        ("/charging/", limits, "inventory_chargerule"),
        ("/sites/", {"name": "Fig House", "address": "1 Fig Lane"}, "kitting_site"),
        ("/bags/", {"labels": "yes", "number": 1, "at": cast.dock.code}, "inventory_place"),
        (
            "/bags/",
            {"content": "yes", "code": "B", "name": "B", "since": "2026-11-01", "parts": parts},
            "kitting_bagcontent",
        ),
        (f"/vans/{cast.van.code}/top-up", carry, "kitting_carried"),
        (page_of("own_bag", "wanda"), {}, "kitting_ownbag"),
        (page_of("own_bag", "wanda"), carry, "kitting_carried"),
        (f"/jobs/{job.code}/hand", {**hand, "quantity": line.quantity + 1}, "kitting_handline"),
    ]


def test_a_form_sent_twice_enters_once(cast: Cast) -> None:
    """Each page that enters something: one row, and the second press is led where the first was."""
    mona = cast.clients["manager"]
    for number, (address, data, table) in enumerate(posts(cast)):
        sent = {**data, "once": f"01930000-0000-7000-8000-{number:012}"}
        before = rows()
        first = mona.post(address, sent)
        once = rows()
        second = mona.post(address, sent)

        assert (address, 302) == (address, first.status_code)
        assert once[table] == before[table] + 1
        assert (second.status_code, second["Location"]) == (302, first["Location"])
        assert rows() == once


@pytest.mark.django_db(transaction=True)
def test_two_that_come_at_one_moment_enter_once() -> None:
    """The second waits for the first and is led where that one led, on either database."""
    shop = firm.build()
    sent = {"kind": "bin", "name": "Bin 9", "order": 9, "once": ONE}
    answers: list[tuple[int, str]] = []
    begin = threading.Barrier(TABS)

    def press(browser: Client) -> None:
        try:
            begin.wait(30)
            answer = browser.post("/places/", sent)
            answers.append((answer.status_code, answer["Location"]))
        finally:
            connections.close_all()

    browsers = [Client() for _ in range(TABS)]
    for browser in browsers:
        browser.force_login(shop.mona.person)
    threads = [threading.Thread(target=press, args=(browser,)) for browser in browsers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)

    assert answers == [(302, "/places/")] * TABS
    assert Place.objects.filter(name="Bin 9").count() == SentForm.objects.count() == 1


def said(client: Client, address: str) -> str:
    return client.get(address).content.decode()


def test_other_words_under_a_key_are_refused(cast: Cast) -> None:
    """Neither the page gone back to, nor somebody else with its key, changes what was entered."""
    mona, wanda = cast.clients["manager"], cast.clients["warehouse"]
    data = {**posts(cast)[0][1], "once": ONE}
    mona.post("/on-order/", data)
    mona.post("/on-order/", {**data, "quantity": 5})
    told = said(mona, "/on-order/")
    wanda.post("/on-order/", data)

    assert [line.quantity for line in OrderLine.objects.all()] == [4]
    assert "with other words in it" in told
    assert "with other words in it" in said(wanda, "/on-order/")
    assert mona.post("/on-order/", {**data, "once": "odd"}).status_code == 400


def test_another_file_under_a_key_is_refused(cast: Cast) -> None:
    """A sheet chosen anew on a page gone back to is not passed over as the first one again."""
    taken: list[bytes] = []

    @once
    def view(request: HttpRequest) -> HttpResponse:
        taken.extend(sheet.read() for sheet in request.FILES.getlist("sheet"))
        return redirect("/sheets/")

    def answer(person: Person, data: bytes) -> list[str]:
        sheet = SimpleUploadedFile("old jobs.csv", data)
        request = RequestFactory().post("/sheets/new", {"once": ONE, "sheet": sheet})
        request.user = person
        request._messages = CookieStorage(request)  # type: ignore[attr-defined]
        view(request)
        return [str(said).partition(",")[0] for said in get_messages(request)]

    mona = cast.people["manager"]
    told = [answer(mona, data) for data in (b"job;item", b"job;item", b"job;other")]

    assert told == [[], ["That was sent twice and counts once."], ["This page was sent before"]]
    assert taken == [b"job;item"]


def test_what_was_sent_cannot_be_tried_out_on_the_database(cast: Cast) -> None:
    """A first password comes with a key: what is kept of it is signed with the site's secret.

    Worked out beside it by the standard library: HMAC of RFC 2104, its key hashed from salt and
    secret as Django's documentation of `salted_hmac` says.
    """
    roles = ["technician"]
    sent = {"username": "nina", "name": "Nina", "roles": roles, "password": PASSWORD, "once": ONE}
    done = cast.clients["manager"].post("/people/", sent)
    fields = {name: value if name == "roles" else [value] for name, value in sent.items()}
    text = json.dumps(["/people/", fields, {}], sort_keys=True)
    key = hashlib.sha256(f"inventory.once{settings.SECRET_KEY}".encode()).digest()

    assert done.status_code == 302
    assert SentForm.objects.get().sha256 == hmac.new(key, text.encode(), "sha256").hexdigest()


def test_a_refused_form_can_be_sent_again(cast: Cast) -> None:
    """What did nothing uses up no key; a page without a key acts as it always did."""
    mona = cast.clients["manager"]
    address, data, _ = posts(cast)[0]
    refused = mona.post(address, {**data, "quantity": "", "once": ONE})
    mended = mona.post(address, {**data, "once": ONE})
    mona.post(address, data)

    assert (refused.status_code, mended.status_code) == (200, 302)
    assert OrderLine.objects.count() == 2


def test_every_page_that_leads_on_acts_once() -> None:
    """A page that answers a form by leading on is wrapped, or named above with a reason."""
    leads_on = {
        row["route"]
        for row in ROWS
        if row["method"] == "POST"
        and "302" in [row[who] for who in ("warehouse", "technician", "manager")]
    }
    wrapped = {
        name
        for name, _, one in patterns(get_resolver())
        if getattr(one.callback, "acts_once", False)
    }

    assert sorted(leads_on - wrapped) == sorted(TWICE_IS_ONCE)


def test_each_form_carries_a_key() -> None:
    """Wherever a template writes the session's token, it writes a key beside it."""
    bare = [
        name_of(path)
        for path in files()
        if path.suffix == ".html"
        and re.search(r"{% csrf_token %}(?!{% once %})", path.read_text(encoding="utf-8"))
        and path != TOP / "templates" / "parts" / "ways.html"  # signing out, on every page
    ]

    assert bare == []


def test_who_changed_a_figure_stands_beside_it(cast: Cast) -> None:
    """Rule, warmth and item: what it was, what it is and who said so; the same again is nothing."""
    mona = cast.clients["manager"]
    limits = {"item": cast.item.code, "up_to_c": 25, "days": 180, "source": "manual 3"}
    for days in (180, 150, 150):
        mona.post("/charging/", {**limits, "days": days})
    mona.post("/charging/", {"place": cast.dock.code, "warmest_c": 30})
    mona.post(f"/items/{cast.item.code}/", {"name": "Cell block", "mass_g": 31000, "cost": 5})
    page = said(mona, "/charging/")
    made = Amendment.objects.exclude(by=None)  # those of nobody set the firm up
    found = [(a.about, a.was.get("days"), a.now.get("days"), a.by) for a in made]

    rule, who = f"charge rule:{cast.item.code}:25", cast.people["manager"]
    assert found == [
        (rule, None, 180, who),
        (rule, 180, 150, who),
        ("warmth:DOCK", None, None, who),
        (f"item:{cast.item.code}", None, None, who),
    ]
    assert "150 days" in page
    assert page.count("Mona, ") >= 2
    assert Place.objects.get(code="DOCK").warmest_c == 30
