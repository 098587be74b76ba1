"""How long a van's page weighs its levels in a large firm: 60 vans, 2,000 past jobs, 400 items."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import django

django.setup()

from django.core.management import call_command  # noqa: E402  # needs the settings
from django.db import transaction  # noqa: E402
from django.utils import timezone  # noqa: E402

from inventory.ledger.ids import uuid7  # noqa: E402
from inventory.models import Event, Item, Lot, Movement, Place  # noqa: E402
from inventory.moving import nameless  # noqa: E402
from kitting import van_levels  # noqa: E402
from kitting.models import Job, Kit  # noqa: E402
from tests.bench.probe import part  # noqa: E402
from tests.kitting import yard as yards  # noqa: E402
from tests.kitting.yard import Yard  # noqa: E402
from tests.tree import TOP  # noqa: E402

VANS, JOBS, ITEMS, RUNS = 60, 2000, 400, 5
ASKED = (3, 9)  # items that a job took from its van, fewest and most
OFTEN = [1 / (rank + 20) for rank in range(ITEMS)]


def figures(folder: Path) -> list[str]:
    """Return seconds of one van's page, and how near the cheapest its levels are.

    Measured in a process of its own: the firm stays out of the other benches' database.
    """
    command = [sys.executable, "-m", "tests.bench.van_levels", str(folder)]
    here = {**os.environ, "DATABASE_URL": f"sqlite:///{folder}/vans.sqlite3"}
    done = subprocess.run(command, cwd=TOP, env=here, capture_output=True, text=True, check=True)
    # The solver says a word of its own here and there.
    return [line for line in done.stdout.splitlines() if line.startswith("- ")]


def main() -> None:
    """Print the figures of an empty database that this process fills."""
    call_command("migrate", verbosity=0)
    vans = _fill(yards.build())
    today, took = timezone.localdate(), []
    for number in range(RUNS):
        began = time.perf_counter()
        found = van_levels.advice(vans[number], today)
        took.append(time.perf_counter() - began)
        assert found is not None
        assert found.jobs == van_levels.MOST
        assert found.chance >= found.target
    print(
        f"- Levels of a van by the chance of its jobs: {VANS} vans, {JOBS:,} past jobs, "
        f"{len(found.rows)} items asked for by the latest {found.jobs}: first {took[0]:.2f} s, "
        f"then {part(took[1:], 0.5):.2f} s (median)."
    )


def _fill(yard: Yard) -> list[Place]:
    """Enter vans, items, closed kits and what their crews took of the vans; a week back first."""
    rng, now = random.Random(7), timezone.now()
    kit = yard.kit()
    depot = yard.firm.van.parent
    with transaction.atomic():
        vans = [
            Place.objects.create(kind="van", code=f"V{n:02}", name=f"Van {n:02}", parent=depot)
            for n in range(VANS)
        ]
        items = [
            Item.objects.create(
                code=f"P{n:03}", name=f"part {n:03}", tracking="count", cost=rng.randint(5, 4000)
            )
            for n in range(ITEMS)
        ]
        lots = [nameless(item) for item in items]
        for done in range(JOBS):
            at = now - timedelta(hours=2 * done % (24 * 180))
            _job(yard, kit, 1 + done, vans[done % VANS], lots, rng, at)
    return vans


def _job(
    yard: Yard, like: Kit, number: int, van: Place, lots: list[Lot], rng: random.Random, at: object
) -> None:
    """One job that is over, and what it took of its van."""
    job = Job.objects.create(
        code=f"J{number + 2000}",
        site=yard.site,
        date=timezone.localdate(at),
        van=van,
        kind="new",
        configuration=like.job.configuration,
        planned_by=yard.mona.person,
    )
    kit = Kit(job=job, revision=1, code=f"{job.code}-1", edition=like.edition, snapshot={})
    kit.worked_out_by = yard.mona.person
    event = Event.objects.create(
        number=number,
        uid=uuid7(),
        line="{}",
        sha256=f"{number:064x}",
        step="unbox",
        person=yard.tariq.person,
        device=yard.tariq.device,
        seq=number,
        device_time=at,
        received_at=at,
        subject=kit.subject,
    )
    kit.released_at, kit.closed_by = at, event
    kit.save()
    # A few are asked for by many jobs, most by few.
    taken = set(rng.choices(range(ITEMS), OFTEN, k=rng.randint(*ASKED)))
    Movement.objects.bulk_create(
        Movement(
            event=event,
            lot=lots[one],
            from_place=van,
            to_place=yard.site.place,
            quantity=rng.choice((1, 1, 2, 4)),
        )
        for one in taken
    )


if __name__ == "__main__":
    main()
