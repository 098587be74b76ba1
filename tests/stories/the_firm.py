"""The demo's firm for the stories: the same files, only as much stock as a story needs."""

from __future__ import annotations

import random
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from django.db import transaction

from kitting import packing, planning
from kitting.demo import firm as firms
from kitting.demo import opening
from kitting.demo.firm import Planned
from kitting.demo.hand import Clock
from kitting.demo.opening import Opening
from kitting.models import Kit


def enter(*, stock: str = "") -> Opening:
    """Enter the firm. stock: what lies in the bins, items of this beginning only; "" for none."""
    firm = firms.read()
    kept = tuple(s for s in firm.stock if stock and s.item.startswith(stock))
    units = tuple(u for u in firm.units if u.item.startswith(stock))
    smaller = replace(firm, stock=kept, units=units, built=())
    return opening.load(smaller, Clock(random.Random(firm.seed)), stock=bool(stock))


@contextmanager
def scene(*, stock: str = "") -> Iterator[Opening]:
    """A firm that is gone afterwards; for fixtures wider than one test."""
    with transaction.atomic():
        yield enter(stock=stock)
        transaction.set_rollback(True)


def release(opened: Opening, key: str) -> Kit:
    """Plan a job of the week and hand its kit to the warehouse."""
    job = next(job for job in opened.firm.jobs if job.key == key)
    hours, minutes = (int(part) for part in job.leaves_at.split(":"))
    planned = planning.plan_whole(
        by=opened.people["mona"],
        site=None,
        site_name=job.site,
        address=job.address or job.site,
        date=job.date,
        configuration=configuration(job),
        van=opened.places[job.van],
        crew=[opened.people[name] for name in job.crew],
        leaves_at=datetime(job.date.year, job.date.month, job.date.day, hours, minutes, tzinfo=UTC),
    )
    kit = planned.kit
    assert kit is not None
    packing.release(kit, opened.people["mona"])
    return Kit.objects.get(pk=kit.pk)


def configuration(job: Planned) -> dict[str, Any]:
    """What the planning page makes of the typed answers."""
    asked: dict[str, Any] = {"family": job.family, "job": job.job}
    asked["stacks"] = [{"modules": int(n)} for n in job.stacks.split(",")]
    if job.before:
        asked["before"] = {"stacks": [{"modules": int(n)} for n in job.before.split(",")]}
    tenths = {name for name in job.answers if name.endswith("_od")}
    for name, text in job.answers.items():
        number = text.replace(".", "").isdigit()
        asked[name] = round(float(text) * (10 if name in tenths else 1)) if number else text
    return asked


def serial_code(opened: Opening, item: str, serial: str) -> str:
    """What the label of a thing says when a hand scanner types it."""
    return opening.serial_code(opened, item, serial)
