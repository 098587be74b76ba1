"""How long it takes to say what a new edition changes on 1,000 open jobs, no two alike."""

import itertools
import json
import os
import subprocess
import sys
import time
from pathlib import Path

import django

django.setup()

from django.core.management import call_command  # noqa: E402  # needs the settings
from django.db import transaction  # noqa: E402

from inventory.models import Item  # noqa: E402
from kitting import effects, families, snapshot  # noqa: E402
from kitting.models import FamilyEdition, Job, Kit, KitLine  # noqa: E402
from tests.bench.probe import part, sync_ms  # noqa: E402
from tests.kitting import yard as yards  # noqa: E402
from tests.kitting.yard import CONFIGURATION, DAY, TOWER, Yard  # noqa: E402
from tests.tree import TOP  # noqa: E402

JOBS, RUNS = 1000, 3
HEIGHTS = ([1], [2], [3], [4], [5], [6], [2, 2], [3, 3], [4, 4], [3, 3, 3])


def figures(folder: Path) -> list[str]:
    """Return seconds, ms a job, and a job as a share of the sync probe beside it.

    Measured in a process of its own: the jobs stay out of the other benches' database.
    """
    command = [sys.executable, "-m", "tests.bench.open_jobs", str(folder)]
    here = {**os.environ, "DATABASE_URL": f"sqlite:///{folder}/jobs.sqlite3"}
    done = subprocess.run(command, cwd=TOP, env=here, capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


def main(folder: Path) -> None:
    """Print the figures of an empty database that this process fills."""
    call_command("migrate", verbosity=0)
    asked = _plan(yards.build())
    later = _later()
    took, sync = [], []
    for _ in range(RUNS):
        began = time.perf_counter()
        effect = effects.of_edition(later)
        took.append(time.perf_counter() - began)
        sync += sync_ms(folder)
        assert effect.jobs == asked == JOBS, (effect.jobs, asked)
        assert len(effect.changed) == JOBS, "each job fixes a bracket more"
    seconds, probe = part(took, 0.5), part(sync, 0.5)
    each = seconds * 1000 / JOBS
    print(
        f"- What a new edition changes on {JOBS} open jobs, no two alike: {seconds:.1f} s, "
        f"{each:.1f} ms a job, {each / probe:.0f} sync probes (median {probe:.2f} ms)."
    )


def _plan(yard: Yard) -> int:
    """Enter the jobs with their kits in three statements; return how many stacks that is."""
    edition = families.current("tower")
    assert edition is not None
    lengths = itertools.product(HEIGHTS, range(2000, 12000, 500), (3000, 4500, 6000, 7500, 9000))
    items = {item.code: item for item in Item.objects.all()}
    told = {"site": yard.site, "date": DAY, "kind": "new", "planned_by": yard.mona.person}
    jobs, kits, lines = [], [], []
    for number, (heights, ac_run, data_run) in enumerate(itertools.islice(lengths, JOBS), 2001):
        stacks = [{"modules": modules} for modules in heights]
        gap = {"gap": 300} if len(heights) > 1 else {}
        given = {**CONFIGURATION, "stacks": stacks, "ac_run": ac_run, "data_run": data_run, **gap}
        worked = snapshot.work_out(edition, given)
        assert not worked.refused, worked.refused
        job = Job(code=f"J{number}", configuration=given, **told)
        kit = Kit(job=job, revision=1, code=f"{job.code}-1", edition=edition)
        kit.snapshot, kit.worked_out_by = worked.snapshot, yard.mona.person
        jobs.append(job)
        kits.append(kit)
        lines += [
            KitLine(
                kit=kit,
                item=items[line["item"]],
                order=order,
                **{name: line[name] for name in ("quantity", "unit", "step", "reasons")},
            )
            for order, line in enumerate(worked.lines)
        ]
    with transaction.atomic():
        Job.objects.bulk_create(jobs)
        Kit.objects.bulk_create(kits)
        KitLine.objects.bulk_create(lines, batch_size=2000)
    return len({json.dumps(job.configuration, sort_keys=True) for job in jobs})


def _later() -> FamilyEdition:
    """The next edition of the tower: every bracket table gives one more."""
    text = TOWER.read_text(encoding="utf-8").replace("2026-11-03", "2026-12-01")
    for number in range(9, 0, -1):
        text = text.replace(f"CT-BRACKET = {number} }}", f"CT-BRACKET = {number + 1} }}")
        text = text.replace(f"CT-BRACKET = {number},", f"CT-BRACKET = {number + 1},")
    return families.load(text, "tower.toml, next").edition


if __name__ == "__main__":
    main(Path(sys.argv[1]))
