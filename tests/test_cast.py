"""Every address times every member of the cast: tests/cast.csv says who gets what.

A row is one route, method and object, with the status for each member. Objects: `own` is of the
member's own crew (for everybody else: of Tariq's), `foreign` of the other crew, `firm` the firm's,
`absent` nobody's.
"""

from __future__ import annotations

import csv
import json
import re
from collections.abc import Callable, Iterator
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from inventory.ledger.ids import uuid7
from inventory.models import Device
from inventory.templatetags.amounts import coin
from kitting.models import Site
from tests import doors, people
from tests.people import MEMBERS, PASSWORD, PRICE, ROLES, Cast, Sent, Work
from tests.untouched import State, state, unchanged

TABLE = (Path(__file__).parent / "cast.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(TABLE.splitlines()))
CREWS = ("technician", "other_technician")
OUTSIDERS = ("leaver", "stranger")
REST = ("PUT", "PATCH", "DELETE", "TRACE")  # methods that no address answers
TOKEN = re.compile(r'value="\w{64}"|csrftoken=\w{32}|name="once" value="[0-9a-f-]{36}"')
# Who is turned away is decided before a database is asked; PostgreSQL sees each page all the same,
# with what is the own: another crew's asks it for the same. What is absent may be no value of its.
ONCE = pytest.mark.sqlite_only
ABSENT = {
    "item": "NO-SUCH-ITEM",
    "delivery": "D999",
    "claim": "C999",
    "return": "R999",
    "notice": "RC999",
    "family": "moon",
    "job": "J9999",
    "kit": "J9999-1",
    "van": "VAN999",
    "day": "2026-11-26",
    "sha256": "ab" * 32,
    "site": "STE9999",
    "kind": "swap",
    "ending": "ods",
    "brought": "F999",
    "number": "9",
    "uid": "00000000-0000-7000-8000-000000000000",
} | {"badge": "LBN000000", "place": "BIN999"}


def name_of(row: dict[str, str]) -> str:
    return "-".join((row["route"], row["method"], row["object"])).strip("-")


def patterns(resolver: URLResolver, above: str = "") -> Iterator[tuple[str, str, URLPattern]]:
    """Name, whole pattern and view of each address the site answers."""
    for one in resolver.url_patterns:
        pattern = above + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from patterns(one, pattern)
        else:
            yield str(one.name), pattern, one


@cache
def routes() -> dict[str, tuple[str, tuple[str, ...]]]:
    """Route name -> (pattern, the names in it)."""
    return {
        name: (pattern, tuple(one.pattern.converters))
        for name, pattern, one in patterns(get_resolver())
    }


@pytest.fixture(scope="module")
def cast(django_db_setup: None, django_db_blocker: Any) -> Iterator[Cast]:
    """One cast for all rows: each test's own changes are rolled back above it."""
    with django_db_blocker.unblock(), people.scene() as found:
        yield found


def work_of(cast: Cast, member: str, object_: str) -> Work:
    """The job that this member's row is about."""
    own = member if member in CREWS else CREWS[0]
    return cast.works[own if object_ == "own" else CREWS[1 - CREWS.index(own)]]


def address(cast: Cast, route: str, member: str, object_: str) -> str:
    """The address of a row for one member."""
    pattern, names = routes()[route]
    values = dict(ABSENT)
    if object_ in ("own", "foreign"):
        work = work_of(cast, member, object_)
        values |= {"job": work.job.code, "kit": work.kit.code, "sha256": work.photo.sha256}
        values |= {"uid": str(work.kit_uid), "site": work.job.site.place.code}
    elif object_ == "firm":
        values |= {
            "delivery": "D1",
            "claim": "D1-1",
            "return": "R1",
            "notice": "RC1",
            "item": cast.item.code,
            "uid": str(cast.people["leaver"].uid),
            "van": cast.van.code,
            "brought": "F1",
            "number": "1",
            "kind": "items",
            "ending": "csv",
        }
        values |= {"family": "tower", "day": "2026-11-03"}
        values |= {"badge": cast.badge, "place": cast.dock.code}
    first = pattern.split("/")[0]
    named = {"deliveries": "delivery", "recalls": "notice", "stock": "item", "my": "kit"}
    sort = named.get(first, first.removesuffix("s"))
    return reverse(route, kwargs={n: values[sort if n == "code" else n] for n in names})


def as_json(data: object) -> dict[str, Any]:
    return {"data": json.dumps(data), "content_type": "application/json"}


def event(subject: str) -> dict[str, Any]:
    device = Device.objects.order_by("pk").first()
    assert device is not None
    line = {"v": 1, "id": str(uuid7()), "device": str(device.uid), "seq": 90, "step": "missing"}
    line |= {"at": "2026-11-26T09:00:00Z", "text": "CT-BOLT6", "via": "tap", "subject": subject}
    return {"data": json.dumps(line), "content_type": "application/x-ndjson"}


def answers() -> dict[str, str]:
    """The questions about a site, as a page sends them."""
    given = people.configuration("T01")
    about = {f"about_{k}": str(v) for k, v in given.items() if k not in ("family", "job", "stacks")}
    # A diameter is asked in mm, and given to the engine in tenths.
    return about | {name: str(int(about[name]) / 10) for name in about if name.endswith("_od")}


def body(cast: Cast, route: str, member: str, object_: str) -> Sent:
    """What a person who may would send there: a refusal is about the person, never the content."""
    kit = work_of(cast, member, object_).kit.code if object_ in ("own", "foreign") else "J9999-1"
    subject = f"kit:{kit}"
    plan = {"site_name": "New house", "date": "2026-12-01", "family": "tower"}
    stacks, about = {"job": "new", "stacks": "1"}, answers()
    hand = {"verb": "add", "step": "fix", "quantity": 2, "reason": "one strips"}
    number = MEMBERS.index(member)
    name = {"warehouse": "wanda"} | {m: known for m, (known, _) in ROLES.items()}
    # What asks the database or draws a picture is a function: one of them all is called.
    bodies: dict[str, Sent | Callable[[], Sent]] = {
        "sign_in": {"data": {"username": name.get(member, "nobody"), "password": PASSWORD}},
        "own_sign_in": {"data": {"old": PASSWORD, "new": people.NORA["password"]}},
        "item_new": {"data": {"code": f"NEW-{number}"} | people.SHIM},
        "item_change": {"data": {"name": "Battery module", "mass_g": 30000}},
        "places": {"data": {"kind": "van", "name": "Van 9"}},
        "place_change": {"data": {"name": "Ramp", "in_use": "on"}},
        "people": {"data": {"username": f"new-{number}"} | people.NORA},
        "person_change": {"data": {"name": "Lars", "roles": ["manager"]}},
        "deliveries": lambda: {"data": people.note(cast)},
        "notices": {"data": {"letter": "L-2", "wrong": "x", "rule": "prefix AB"}},
        "notice": {"data": {"rule": "prefix PLUM1"}},
        "delivery": {"data": {"lines": "CT-MODULE;S-1"}},
        "charging": {"data": people.CHARGE | {"item": cast.item.code}},
        **people.decided(),
        "site": {"data": {"phone": "0123 456"}},
        "partners": {"data": {"code": f"p{number}", "name": "Road", "kind": "carrier"}},
        "on_order": lambda: {"data": people.order(cast)},
        "van_top_up": lambda: {"data": {"item": people.bolt(), "least": 2, "up_to": 4}},
        "made_bags": {"data": {"labels": "yes", "number": 2, "at": cast.dock.code}},
        "labels": {"data": {"codes": "BIN1", "form": "pdf", "dpi": "203", "skip": "0"}},
        "printing": lambda: {"data": people.out()},
        "printers": {"data": people.printer(number)},
        "short_stock": lambda: {"data": people.turn()},
        **dict.fromkeys(("photo", "delivery_photo", "shelf_photo"), lambda: people.upload(at="")),
        "job_new": {"data": plan | stacks | about},
        "job": {"data": {"cancel": "1"}},
        "job_change": {"data": about | {"stacks": "2", "ask": "yes"}},
        "job_hand": lambda: {"data": hand | {"item": people.bolt()}},
        "sites": {"data": {"name": "Other house", "address": "1 Way"}},
        "site_describe": {"data": about | {"family": "tower", "stacks": "1", "save": "yes"}},
        "site_start": {"data": {"date": "2026-12-01", "places": ["1/1"]}},
        "my_differs": {"data": about | {"stacks": "1", "ask": "yes"}},
        "leads": {"data": {"person": cast.people["warehouse"].pk, "pin": "2580"}},
        "van_out": {"data": {"first": "2026-12-24", "reason": "brakes"}},
        "van_day": {"data": {"gross_kg": 3500, "ready_kg": 2150, "persons": 2, "fitted_kg": 0}},
        "api_events": lambda: event(subject),
        "api_devices": as_json({"label": "bench"}),
        "api_photos": lambda: people.upload(subject=subject),
        "api_photo_piece": {
            "data": b"",
            "content_type": "application/octet-stream",
            "QUERY_STRING": f"size=10&subject={subject}",
        },
        "api_notes": as_json({"text": "Gate is locked.", "subject": subject}),
        "api_read": people.upload,
    }
    found = bodies.get(route, {})
    return found() if callable(found) else found


def browser(cast: Cast, member: str, **settings: Any) -> Client:
    """This member's browser; what one request does to its cookies is forgotten."""
    client = Client(**settings)
    client.cookies.load(cast.clients[member].cookies.output(header="", sep=";"))
    return client


def body_of(response: Any) -> bytes:
    # A file is closed by being read to its end.
    return b"".join(response.streaming_content) if response.streaming else response.content


def content(response: Any) -> str:
    return str(dict(response.headers)) + body_of(response).decode(errors="replace")


@pytest.fixture(scope="module")
def before(cast: Cast, django_db_blocker: Any) -> State:
    """The state that each test finds: what the others changed was rolled back."""
    with django_db_blocker.unblock():
        return state()


def ask(cast: Cast, row: dict[str, str], member: str) -> Any:
    route, object_ = row["route"], row["object"]
    send = getattr(browser(cast, member), row["method"].lower())
    sent = body(cast, route, member, object_) if row["method"] == "POST" else {}
    return send(address(cast, route, member, object_), **sent)


def test_every_address_has_its_rows_and_every_row_its_address() -> None:
    """GET and POST of each route, and own and foreign where it names something of a crew."""
    unnamed = [pattern for name, pattern, _ in patterns(get_resolver()) if name == "None"]
    expected = set(product(routes(), ("GET", "POST")))
    rows = {(row["route"], row["method"]) for row in ROWS}
    keys = [(row["route"], row["method"], row["object"]) for row in ROWS]

    assert unnamed == []
    assert rows == expected
    assert len(keys) == len(set(keys))


def test_a_route_with_something_of_a_crew_has_own_and_foreign_rows() -> None:
    """An address with a value in it is asked for the crew's own, another's and nobody's."""
    for route, (_, names) in routes().items():
        for method in ("GET", "POST"):
            objects = {r["object"] for r in ROWS if (r["route"], r["method"]) == (route, method)}
            if names and "firm" not in objects:
                assert {"own", "foreign"} <= objects, f"{route} {method}"
            elif names:
                assert "" not in objects, f"{route} {method}"


def once_or_twice(row: dict[str, str]) -> Any:
    marks = [ONCE] if row["object"] == "foreign" else []
    return pytest.param(row, id=name_of(row), marks=marks)


@pytest.mark.parametrize("row", [once_or_twice(row) for row in ROWS])
def test_each_member_gets_what_the_row_says(cast: Cast, db: None, row: dict[str, str]) -> None:
    """The status is the row's, strangers are asked to sign in, nobody sees another's job."""
    for member in MEMBERS:
        response = ask(cast, row, member)
        who = f"{member} {row['method']} {row['route']} {row['object']}"

        assert response.status_code == int(row[member]), f"{who}: {content(response)[:2000]}"
        if member in OUTSIDERS and response.status_code == 302:
            assert response["Location"].startswith("/sign-in"), who
        assert response.status_code != 200 or doors.closed(content(response), member) == [], who
        assert doors.told(content(response), personal(cast, member)) == [], who
        asked = address(cast, row["route"], member, row["object"])
        shown = content(response).replace(asked, "")
        assert [secret for secret in hidden_from(cast, member) if secret in shown] == [], who


def personal(cast: Cast, member: str) -> set[str]:
    """What must be in no address: who people are, where customers live, what opens a session."""
    names = {text for one in cast.people.values() for text in (one.username, one.name)}
    sites = list(Site.objects.all())
    told = {text for site in sites for text in (site.name, site.address, site.phone)}
    tokens = {cookie.value for cookie in cast.clients[member].cookies.values()}
    return {text.casefold() for text in names | told | tokens if text}


def hidden_from(cast: Cast, member: str) -> list[str]:
    """What must not be on any page of this member."""
    if member in ("warehouse", "manager"):
        return []
    prices = [str(PRICE), coin(PRICE)]
    foreign = [work_of(cast, member, "foreign")] if member in CREWS else list(cast.works.values())
    return prices + [secret for work in foreign for secret in work.secrets]


POSTS = [row for row in ROWS if row["method"] == "POST"]


@ONCE
@pytest.mark.parametrize("row", POSTS, ids=[name_of(row) for row in POSTS])
def test_a_refused_call_changes_nothing(
    cast: Cast, db: None, before: State, row: dict[str, str]
) -> None:
    """After the calls of all whom the row turns away, digest and tables are what they were."""
    for member in MEMBERS:
        if row[member] >= "400" or (member in OUTSIDERS and row[member] == "302"):
            with unchanged(before):
                ask(cast, row, member)


FOREIGN = [row for row in ROWS if row["object"] == "foreign" and row["technician"] == "404"]


@ONCE
@pytest.mark.parametrize("row", FOREIGN, ids=[name_of(row) for row in FOREIGN])
def test_what_is_anothers_answers_as_what_does_not_exist(
    cast: Cast, db: None, row: dict[str, str]
) -> None:
    """Nobody can find out by the answer which job numbers exist."""
    foreign, absent = (ask(cast, row | {"object": o}, "technician") for o in ("foreign", "absent"))

    # The form to sign out holds a token that is written anew each time.
    said, nothing = (TOKEN.sub("", content(response)) for response in (foreign, absent))
    assert said == nothing


def test_an_event_about_anothers_kit_is_refused_as_no_job(cast: Cast, db: None) -> None:
    """A technician's event about another crew's kit is not stored, and says the least."""
    before = state()
    for object_ in ("foreign", "absent"):
        row = {"route": "api_events", "method": "POST", "object": object_}
        result = ask(cast, row, "technician").json()["results"][0]

        assert (result["verdict"], result["sentence"]) == ("refused", "No such job.")
        assert result["number"] == 0
    assert state() == before


@ONCE
@pytest.mark.parametrize("route", sorted(routes()))
def test_no_address_answers_other_methods(cast: Cast, db: None, before: State, route: str) -> None:
    """PUT, PATCH, DELETE and TRACE are refused to everybody and change nothing."""
    object_ = next(row["object"] for row in ROWS if row["route"] == route)
    for member, method in product(("manager", "technician", "stranger"), REST):
        client = browser(cast, member)
        asked = address(cast, route, member, object_)
        with unchanged(before):
            status = client.generic(method, asked).status_code

        turned_away = (302, 403) if member in OUTSIDERS else ()
        assert status in (405, *turned_away), f"{member} {method} {route}"


@ONCE
@pytest.mark.parametrize("route", sorted(routes()))
def test_head_answers_as_get_without_a_body(cast: Cast, db: None, route: str) -> None:
    """HEAD gives each member the status of GET; OPTIONS no more than an API's own sheet."""
    row = next(row for row in ROWS if (row["route"], row["method"]) == (route, "GET"))
    for member in ("manager", "technician", "stranger"):
        asked = address(cast, route, member, row["object"])
        head = browser(cast, member).head(asked)
        options = browser(cast, member).options(asked)

        assert head.status_code == int(row[member]), f"{member} HEAD {route}"
        assert body_of(head) == b""
        sheet = route.startswith("api_") and member not in OUTSIDERS
        turned_away = (302, 403) if member in OUTSIDERS else ()
        assert options.status_code in ((200,) if sheet else (405, *turned_away)), member


# Browsers send reports of the content policy by themselves; nothing is stored for them.
UNSAFE = sorted(
    {row["route"] for row in ROWS if row["method"] == "POST" and row["manager"] != "405"}
    - {"csp_report"}
)


@ONCE
@pytest.mark.parametrize("route", UNSAFE)
def test_every_unsafe_call_demands_the_token(
    cast: Cast, db: None, before: State, route: str
) -> None:
    """Without the CSRF token a signed-in manager's own browser is refused, and nothing changes."""
    row = next(r for r in ROWS if (r["route"], r["method"]) == (route, "POST"))
    client = browser(cast, "manager", enforce_csrf_checks=True)
    where = address(cast, route, "manager", row["object"])
    sent = body(cast, route, "manager", row["object"])

    with unchanged(before):
        response = client.post(where, **sent)

    assert response.status_code == 403
