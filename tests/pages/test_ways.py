"""The ways on every page: each role's own, today's unfolded, the page one is at marked."""

import re

import pytest
from django.test import Client

from inventory.models import Person
from kitting.templatetags.ways import GROUPS

pytestmark = pytest.mark.django_db


def groups(role: str, path: str) -> dict[str, tuple[bool, list[str], list[str]]]:
    """Group -> (unfolded, words of its ways, words of those marked as here)."""
    client = Client()
    client.force_login(Person.objects.create_user(role, roles=[role]))
    body = client.get(path).content.decode().split('id="ways"')[1]
    found = {}
    for fold, name, ways in re.findall(
        r"<details( open)?>\s*<summary>([^<]+)</summary>\s*<ul>(.*?)</ul>", body
    ):
        links = re.findall(r'<a href="[^"]+"( aria-current="page")?>([^<]+)</a>', ways)
        found[name] = (bool(fold), [words for _, words in links], [w for now, w in links if now])
    return found


def test_today_and_the_group_of_this_page_are_unfolded() -> None:
    """Every other group is one press away, and the page itself is marked."""
    ways = groups("manager", "/stock/")
    assert [name for name, (unfolded, _, _) in ways.items() if unfolded] == ["Today", "Look up"]
    assert [here for _, _, here in ways.values() if here] == [["Stock"]]
    assert "The week" in ways["Today"][1]
    assert "Put away" not in ways["Goods"][1]


def test_a_technician_sees_five_ways_and_nothing_folded() -> None:
    """None of the office's or the store's pages is offered to who may not open it."""
    ways = groups("technician", "/my/")
    assert all(unfolded for unfolded, _, _ in ways.values())
    assert [words for _, some, _ in ways.values() for words in some] == [
        "My jobs",
        "Sites",
        "My bag",
        "Set up a hand scanner",
        "Figures at the bench",
    ]


@pytest.mark.parametrize("role", ["manager", "warehouse", "technician"])
def test_every_way_that_is_offered_may_be_gone(role: str) -> None:
    """What the ways show and what the pages allow is one thing."""
    client = Client()
    client.force_login(Person.objects.create_user(role, roles=[role]))
    addresses = re.findall(
        r'<a href="([^"]+)"', client.get("/scanner/").content.decode().split('id="ways"')[1]
    )
    answers = {address: client.get(address).status_code for address in addresses}
    assert set(answers.values()) == {200}, answers
    mine = {page for _, *rows in GROUPS for whose, page, _ in rows if role in whose}
    assert (
        len(addresses) == len(set(addresses)) == len(mine) + 1
    )  # and the own sign-in, beside the sign-out
