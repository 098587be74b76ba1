"""Whose scan comes first decides where two want the same thing, and nowhere else."""

import json
import random
from collections.abc import Iterator

import pytest
from django.db import transaction

from inventory import audit
from inventory.ledger.ids import uuid7
from inventory.models import Unit
from tests.counts import counts
from tests.laws.simulation import world
from tests.laws.simulation.calm import scanned, take
from tests.laws.simulation.network import MORNING, Phone

ACTS, ORDERS = counts(10, 60), counts(3, 20)


def wanted_by_all(crews: tuple[world.Crew, ...], phones: list[Phone]) -> list[tuple[Phone, str]]:
    """One unit that nobody received, put into each crew's own bin."""
    text = crews[0].label("N99")
    fields = {"step": "put", "text": text, "via": "symbol"}
    return [
        (phone, phone.keep(str(uuid7(10**6, n)), MORNING, {**fields, "target": crew.bins[1]}))
        for n, (crew, phone) in enumerate(zip(crews, phones, strict=True))
    ]


def shuffled(history: list[tuple[Phone, str]], seed: int) -> Iterator[tuple[Phone, str]]:
    """Another order of arrival that keeps each phone's own."""
    queues = {phone.device: iter(()) for phone, _ in history}
    for device in queues:
        queues[device] = iter([entry for entry in history if entry[0].device == device])
    order = [phone.device for phone, _ in history]
    random.Random(seed).shuffle(order)
    for device in order:
        yield next(queues[device])


@pytest.mark.django_db
def test_the_order_of_arrival_decides_only_what_is_contested() -> None:
    """I18: three phones in three orders; all but the unit that all want is decided alike.

    That one stands where the last of them put it.
    """
    crews = world.enter()
    history = scanned(crews, ACTS, apart=True)
    phones = list({phone.device: phone for phone, _ in history}.values())
    contested = wanted_by_all(crews, phones)
    claims = {line: json.loads(line) for _, line in contested}
    decided, last = [], set()
    for seed in range(ORDERS):
        arrived = list(shuffled(history + contested, seed))
        with transaction.atomic():
            verdicts = take(arrived)
            unit = Unit.objects.select_related("place").get(serial="N99")
            problems = [one for one in audit.run() if one.problems]
            transaction.set_rollback(True)
        came = [claims[line] for _, line in arrived if line in claims]
        assert problems == []
        assert unit.place is not None
        assert unit.place.code == came[-1]["target"]
        last.add(unit.place.code)
        decided.append(
            {uid: v for uid, v in verdicts.items() if uid not in {c["id"] for c in came}}
        )

    assert len(last) > 1, "every order ended alike: this run proves nothing"
    assert decided[1:] == decided[:1] * (ORDERS - 1)
