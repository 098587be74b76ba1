"""A van's levels by what jobs asked of it: the cheapest that reach the firm's chance."""

from __future__ import annotations

from math import prod
from typing import Any

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from scipy import stats

from inventory.models import Event, Item
from kitting import van_levels
from kitting.models import Kit, KitLine
from tests.kitting.yard import Yard, about, fresh

CODES = ("CT-TERM", "CT-BRACKET")
TAKEN = {"CT-TERM": (2, 0, 0, 1, 0, 0, 3, 0), "CT-BRACKET": (0, 1, 0, 0, 0, 1, 0, 0)}


def like(kit: Kit, number: int) -> Kit:
    """One more kit of the same job that needs the same two small things."""
    lines = list(kit.lines.filter(item__code__in=CODES))
    more = Kit.objects.get(pk=kit.pk)
    more.pk, more.revision, more.code = None, number, f"{kit.job.code}-{number}"
    more.uid = Kit._meta.get_field("uid").get_default()
    more.save()
    for line in lines:
        line.pk, line.kit = None, more
    KitLine.objects.bulk_create(lines)
    return fresh(more)


def close(yard: Yard, kits: list[Kit]) -> None:
    """As if each had been brought home."""
    for kit in kits:
        yard.shelve("CT-SCREW5", 1)
        Kit.objects.filter(pk=kit.pk).update(closed_by=Event.objects.latest("pk"))


@pytest.fixture
def eight(yard: Yard, kit: Kit, settings: Any) -> list[Kit]:
    """Eight kits whose crews took of the van what TAKEN says; the first told it missing before."""
    settings.KIT_CHANCE = 90
    for code in CODES:
        yard.shelve(code, 20, yard.firm.van)
    kits = [like(kit, number) for number in range(2, 10)]
    yard.tariq.scan("missing", "CT-TERM", quantity=1, **about(kits[0]))
    for code, quantibrackets in TAKEN.items():
        for one, quantity in zip(kits, quantibrackets, strict=True):
            if quantity:
                done = yard.tariq.scan("unbox", code, quantity=quantity, **about(one))
                assert done.verdict in ("applied", "problem"), done.sentence
    return kits


def wanted(code: str, jobs: int) -> Any:
    """What so many jobs ask for, by scipy from the sample's own mean and variance."""
    mean, variance = np.mean(TAKEN[code]), np.var(TAKEN[code], ddof=1)
    m, v = jobs * mean, jobs * max(mean, variance) * (1 + jobs / 8)
    return stats.nbinom(m * m / (v - m), m / v)


def test_levels_are_the_cheapest_that_reach_the_chance(yard: Yard, eight: list[Kit]) -> None:
    """Taken from the van or told missing, once; a day for the least, a week for filling up."""
    today = timezone.now().date()
    close(yard, eight[:7])
    few = van_levels.advice(yard.firm.van, today)
    assert few is not None
    assert (few.too_few, few.rows) == (True, ())
    close(yard, eight[7:])
    Item.objects.filter(code="CT-TERM").update(cost=40, cost_for=1)
    Item.objects.filter(code="CT-BRACKET").update(cost=3, cost_for=1)

    found = van_levels.advice(yard.firm.van, today)

    assert found is not None
    assert {row.item.code: row.asked for row in found.rows} == {"CT-TERM": 6, "CT-BRACKET": 2}
    for jobs, levels in (
        (found.a_day, {row.item.code: row.least for row in found.rows}),
        (5 * found.a_day, {row.item.code: row.up_to for row in found.rows}),
    ):
        chances = {code: wanted(code, jobs).cdf for code in CODES}
        costs = [
            40 * terms + 3 * brackets
            for terms in range(40)
            for brackets in range(40)
            if chances["CT-TERM"](terms) * chances["CT-BRACKET"](brackets) >= 0.9
        ]
        assert 40 * levels["CT-TERM"] + 3 * levels["CT-BRACKET"] == min(costs)
        assert prod(chances[code](levels[code]) for code in CODES) >= 0.9
    bare = prod(wanted(code, found.a_day).cdf(0) for code in CODES)
    assert found.now == pytest.approx(bare, abs=1e-7)


def test_a_press_takes_a_proposal_over(yard: Yard, eight: list[Kit]) -> None:
    """The page names the chance before and after; then the list is as proposed."""
    close(yard, eight)
    today, van = timezone.now().date(), yard.firm.van
    page = reverse("van_top_up", args=[van.code])
    desk = Client()
    desk.force_login(yard.mona.person)
    assert "Carry so many" in desk.get(page).content.decode()
    first = van_levels.advice(van, today)
    assert first is not None
    for row in first.rows:
        desk.post(page, {"item": row.item.code, "least": row.least, "up_to": row.up_to})

    after = van_levels.advice(van, today)
    assert after is not None
    assert all(row.is_so for row in after.rows)
    assert (after.now, after.chance) == (first.chance, first.chance)
    assert first.now < 0.9 <= after.now
    assert "Carry so many" not in desk.get(page).content.decode()
    crew = Client()
    crew.force_login(yard.wanda.person)
    assert "What its jobs ask it for" not in crew.get(page).content.decode()
