"""A day without a fault: what three crews scan in turns, handed to the intake as it is made."""

from __future__ import annotations

import random

from inventory import intake
from inventory.ledger.ids import uuid7
from inventory.models import Event, Person
from tests import firm
from tests.laws.simulation.day import Day
from tests.laws.simulation.network import MORNING, Phone, phones_of
from tests.laws.simulation.world import Crew


def scanned(crews: tuple[Crew, ...], acts: int, *, apart: bool) -> list[tuple[Phone, str]]:
    """Each line and the phone that made it."""
    days = [Day(crews, n, apart, random.Random(f"laws {n}")) for n in range(len(crews))]
    dice = random.Random("ids of a day")
    history: list[tuple[Phone, str]] = []
    phones = phones_of(days)
    for number in range(acts):
        for day, phone in zip(days, phones, strict=True):
            uid = str(uuid7(number, dice.getrandbits(74)))
            line = phone.keep(uid, MORNING, day.act(number / acts))
            day.done.append(uid)
            history.append((phone, line))
    return history


def take(history: list[tuple[Phone, str]]) -> dict[str, str]:
    """Hand a history to the intake; id -> what was decided of it in the end."""
    people = {person.username: person for person in Person.objects.all()}
    for phone, line in history:
        intake.take(people[phone.person], [line], firm.NOW)
    events = Event.objects.prefetch_related("outcomes")
    return {str(e.uid): f"{list(e.outcomes.all())[-1].verdict}" for e in events}
