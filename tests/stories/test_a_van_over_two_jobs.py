"""One van, its standing list and two jobs: what is on it is looked for there, used and refilled.

A least and a fill-up level: common practice, no source.
"""

from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inventory.models import CartonContent, Item
from kitting import sourcing, standing_list
from kitting.progress import fold
from tests.kitting import yard as yards
from tests.kitting.yard import DAY, Yard, about
from tests.printed import Sheet

CODE = "CT-BRACKET"  # each of these kits takes two


@pytest.fixture
def yard(db: None, settings: Any) -> Yard:
    """A firm that takes no spares."""
    settings.KIT_CHANCE = 0
    return yards.build()


def level(yard: Yard) -> tuple[int, int]:
    """How many brackets are on the van, and how many are to be brought."""
    (found,) = standing_list.levels(yard.firm.van, DAY)
    return found.there, found.to_bring


def test_a_van_over_two_jobs(yard: Yard, client: Client) -> None:
    """Three brackets on the van: two for the older job, one for the next; used, then refilled."""
    page, item = f"/vans/{yard.firm.van.code}/top-up", Item.objects.get(code=CODE)
    yard.shelve(CODE, 20)
    first = yard.kit()
    assert fold(first).totals[CODE].to_pick == 2
    client.force_login(yard.mona.person)
    client.post(page, {"item": item.code, "least": 2, "up_to": 3})
    assert level(yard) == (0, 3)
    assert b'name="quantity" value="3"' in client.get(page).content
    refused = client.post(page, {"item": item.code, "least": 4, "up_to": 3})
    assert "got 4 up to 3" in refused.content.decode()

    where = {"target": yard.firm.van.code, "from": yard.firm.bins[0].code}
    assert yard.wanda.scan("put", CODE, quantity=3, **where).verdict == "applied"
    assert level(yard) == (3, 0)
    second = yard.kit()
    assert (fold(first).totals[CODE].on_van, fold(first).totals[CODE].to_pick) == (2, 0)
    assert (fold(second).totals[CODE].on_van, fold(second).totals[CODE].to_pick) == (1, 1)
    with transaction.atomic():  # what is in the boxes of the older kit frees nothing on the van
        module = Item.objects.get(code="CT-MODULE")
        CartonContent.objects.create(box_of=module, item=item, quantity=1, since=DAY)
        assert standing_list.free_for(second, [item.pk]) == {item.pk: 1}
        transaction.set_rollback(True)
    line = first.lines.get(item=item)
    assert [part.kind for part in sourcing.sources(first)[line.pk]] == ["van"]
    walk = client.get(f"/kits/{first.code}/pick").content.decode()
    assert "on the van: look" in walk
    paper = Sheet(client.get(f"/kits/{second.code}/pick-sheet.pdf").content)
    rows = paper.rows({CODE})
    assert [quantity for _, quantity, into in rows if into == "stays there"] == [1]
    assert sum(quantity for _, quantity, _ in rows) == 2
    stays = paper.text[paper.text.index("Not to be picked") :]
    assert "on the van: look 1 " in stays[: stays.index(CODE)]

    yard.wanda.scan("pick", CODE, quantity=1, **about(second))
    assert (fold(second).totals[CODE].on_van, fold(second).totals[CODE].to_pick) == (1, 0)
    done = yard.tariq.scan("use", **about(first))
    assert done.sentence == "Used as planned: 1 item."
    assert (fold(first).totals[CODE].used, fold(first).totals[CODE].to_pick) == (2, 0)
    assert level(yard) == (1, 2)
    assert (fold(second).totals[CODE].on_van, fold(second).totals[CODE].to_pick) == (1, 0)

    # What is taken off the list is picked again; older open kits cost no further questions.
    newest = yard.kit()
    asked = []
    for _ in range(2):
        with CaptureQueriesContext(
            connection,
        ) as questions:
            fold(newest, item)
        asked.append(len(questions))
        newest = [yard.kit() for _ in range(3)][-1]
    assert asked[0] == asked[1]
    client.post(page, {"item": item.code, "least": 0, "up_to": 0})
    assert standing_list.levels(yard.firm.van, DAY) == []
    assert fold(second).totals[CODE].to_pick == 1
