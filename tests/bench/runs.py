"""How long whole stacks from one run take: 30 stacks from 40 runs, and with pairs barred."""

import random
import time
from datetime import date, timedelta
from pathlib import Path

from kitting.plan.made_within import Room
from kitting.plan.one_run import WAYS, Chosen, Stored, Wanted, choose
from tests.bench import probe

RUNS, STACKS, DAYS = 40, 30, 30
FIRST, ON = date(2024, 1, 1), date(2026, 11, 26)
NONE: frozenset[frozenset[str]] = frozenset()
BARRED = frozenset({frozenset("AB")})


def figures(place: Path) -> list[str]:
    """Choose both ways, three shelves each; processor time, as others may be busy."""
    assert place.is_dir()
    return [_figure(NONE, ""), _figure(BARRED, ", A barred beside B")]


def _figure(barred: frozenset[frozenset[str]], named: str) -> str:
    times: list[float] = []
    found: list[Chosen] = []
    for number in range(3):
        shelf, wanted = _case(random.Random(number), barred)
        for way in WAYS:
            began = time.process_time()
            found.append(choose(shelf, wanted, way, ON))
            times.append(time.process_time() - began)
    proven = sum(one.proven for one in found)
    return (
        f"- {STACKS} stacks from {RUNS} runs, some {len(shelf)} units{named}: median "
        f"{probe.part(times, 0.5):.2f} s, worst {max(times):.2f} s of a core; at least "
        f"{min(len(one.runs) for one in found)} whole, {proven} of {len(found)} choices proven."
    )


def _case(
    chance: random.Random, barred: frozenset[frozenset[str]]
) -> tuple[list[Stored], list[Wanted]]:
    shelf: list[Stored] = []
    for _ in range(RUNS):
        made = FIRST + timedelta(chance.randrange(700))
        revision = chance.choice("AB")
        for _ in range(chance.randint(3, 12)):
            day = made + timedelta(chance.randrange(3))
            shelf.append(Stored(len(shelf), day, revision))
    wanted = [
        Wanted(f"J{n // 2}/{n % 2}", f"J{n // 2}", Room(chance.randint(2, 8)), DAYS, barred)
        for n in range(STACKS)
    ]
    return shelf, wanted
