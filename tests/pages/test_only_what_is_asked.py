"""A form or call changes what its page asks for, whatever else is sent with it.

OWASP ASVS 5.0, 15.3.3 (mass assignment). The fields are those of every model, the calls those of
tests/cast.csv, so that a new one is tried by itself.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from typing import Any

import pytest
from django.apps import apps
from django.db import models, transaction

from inventory.ledger import line
from inventory.models import SentForm, SignIn
from tests.people import Cast, Sent
from tests.test_cast import ONCE, ROWS, address, body, body_of, browser, name_of

MODELS = [
    model
    for app in ("inventory", "kitting")
    for model in apps.get_app_config(app).get_models()
    if model not in (SentForm, SignIn)  # what was sent, and where from
]
FIELDS = {
    name: field
    for model in MODELS
    for field in model._meta.concrete_fields
    for name in (field.name, field.attname)
} | {
    "id": models.BigAutoField(),
    "pk": models.BigAutoField(),
    "is_superuser": models.BooleanField(),
}
MEMBERS = ("manager", "technician")
CALLS = [
    (row, member)
    for row in ROWS
    for member in MEMBERS
    if row["method"] == "POST"
    and row[member] in ("200", "302")
    and row["object"] in ("own", "firm", "")
    if member == "manager" or row["manager"] != row[member] or row["object"] == "own"
]
# Made anew each time: ids, hashes, moments.
NEW = re.compile(
    r"[0-9a-f]{8}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{4}-?[0-9a-f]{12}|[0-9a-f]{32,64}|md5\$\S+"
    r"|\d{4}-\d\d-\d\d[ T]\d\d:\d\d:\d\d(?:\.\d+)?(?:\+00:00|Z)?|datetime\.datetime\([^)]*\)"
)
# What is taken besides what the page shows at first.
TAKEN = {
    "api_devices": {"device", "label"},
    "api_notes": {"id"},
    "job_new": {"before"},  # asked once an expansion is planned
    "kit_sources": {"way"},  # the button of one of several ways, where there are
}
INPUT = re.compile(r'name="([^"]+)"')


def value_for(field: models.Field[Any, Any]) -> str:
    """A value that the field would take, and that no row has."""
    match field:
        case models.BooleanField():
            return "true"
        case models.JSONField():
            return '["manager"]'
        case models.DateTimeField():
            return "2031-01-02T03:04:05Z"
        case models.DateField():
            return "2031-01-02"
        case models.UUIDField():
            return "01930000-0000-7000-8000-00000000aaaa"
        case models.IntegerField() | models.ForeignKey():
            return "3"
    return "J1002"


EXTRAS = {name: value_for(field) for name, field in FIELDS.items()}


def stored() -> Counter[str]:
    """Every row there is, without what is made anew each time."""
    return Counter(
        f"{model.__name__} {NEW.sub('*', str(row))}"
        for model in MODELS
        for row in model._default_manager.values_list()
    )


def asks_for(cast: Cast, member: str, where: str) -> set[str]:
    """What the page shows to be filled in."""
    page = browser(cast, member).get(where)
    return set(INPUT.findall(body_of(page).decode(errors="replace")))


def with_extras(sent: Sent, known: set[str]) -> Sent:
    data = sent.get("data", {})
    plain = json.loads(data) if sent.get("content_type") == "application/json" else data
    more = {name: value for name, value in EXTRAS.items() if name not in known | set(plain)}
    told = more | plain
    return sent | {"data": json.dumps(told) if plain is not data else told}


def came_of(cast: Cast, member: str, where: str, sent: Sent) -> tuple[int, Counter[str]]:
    with transaction.atomic():
        status = browser(cast, member).post(where, **sent).status_code
        found = status, stored()
        transaction.set_rollback(True)
    return found


@ONCE
@pytest.mark.parametrize(
    ("row", "member"), CALLS, ids=[f"{name_of(row)}-{member}" for row, member in CALLS]
)
def test_nothing_else_changes(db: None, cast: Cast, row: dict[str, str], member: str) -> None:
    """The same comes of a call with every field of every model filled in besides."""
    route, about = row["route"], row["object"]
    where = address(cast, route, member, about)
    sent = body(cast, route, member, about)
    if isinstance(sent.get("data"), bytes) or "ndjson" in sent.get("content_type", ""):
        pytest.skip("no named values: see the line's own test below")
    known = asks_for(cast, member, where) | TAKEN.get(route, set())
    plain = came_of(cast, member, where, sent)
    more = came_of(cast, member, where, with_extras(body(cast, route, member, about), known))

    assert more[0] == plain[0]
    assert more[1] - plain[1] == plain[1] - more[1] == Counter()


def test_a_line_takes_no_other_field() -> None:
    """An event has its fields and no more."""
    known = {"v": 1, "id": EXTRAS["uid"], "device": EXTRAS["uid"], "seq": 1, "step": "pick"}
    known |= {"at": "2026-11-25T06:10:00Z"}
    for name in EXTRAS.keys() - line._FIELDS.keys():
        with pytest.raises(line.LineError, match="expected one of the known fields"):
            line.parse(json.dumps(known | {name: EXTRAS[name]}))
