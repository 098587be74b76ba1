"""How many labels of a wall are read, at what cost, and what each step of it adds."""

import math
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any, Final
from unittest import mock

import cv2
import numpy as np

from inventory.pictures import preparing, wall
from tests.bench import marks
from tests.pictures import walls

SEEDS = (41, 42)  # others than those the clearings were chosen on

ABLATED: Final = (
    (60, "hard", walls.SIZE),
    (60, "mid", walls.SIZE),
    (30, "hard", walls.SIZE),
    (30, "mid", (2000, 1500)),
    (12, "hard", (2000, 1500)),
)
"""Walls from which a step is taken away; the smaller are doubled whole."""


def main() -> int:
    """Write the figures between their marks; return 0."""
    marks.write("walls", figures(), table=_ablation())
    return 0


def figures(place: Path | None = None) -> list[str]:
    """One line for each difficulty. Needs no database and no photographs."""
    cv2.setNumThreads(1)
    return [_level(level) for level in walls.LEVELS]


def _ablation() -> list[str]:
    """A row for each step: what is read and spent without it, over all walls and by wall."""
    names = ", ".join(
        f"{labels} {level} on {size[0] * size[1] / 1e6:.0f} million px"
        for labels, level, size in ABLATED
    )
    head = (
        f"| the chain | read of {sum(labels for labels, *_ in ABLATED) * len(SEEDS)}, wrong "
        f"| {names} | s of a core a wall |"
    )
    rows = [head, "|---|---|---|---|"]
    for name, changed in _changes():
        read, wrong, spent = [], 0, 0.0
        with changed():
            for labels, level, size in ABLATED:
                right, other, seconds = _counted(labels, level, size)
                read.append(right)
                wrong += other
                spent += seconds
        each = spent / len(ABLATED) / len(SEEDS)
        rows.append(f"| {name} | {sum(read)}, {wrong} | {_listed(read)} | {each:.1f} |")
    return rows


def _changes() -> Iterator[tuple[str, Callable[[], Any]]]:
    """What is taken away or added, and the chain so changed."""
    at_any_size = [(*step[:2], wall.PIXELS) for step in wall.WHOLE]
    yield "nothing taken away", ExitStack
    for step in wall.WHOLE[1:]:
        left = tuple(other for other in wall.WHOLE if other != step)
        yield f"without {step[0]}", lambda left=left: mock.patch.object(wall, "WHOLE", left)
    yield (
        "with wall doubled at 12 million px",
        lambda: mock.patch.object(wall, "WHOLE", at_any_size),
    )
    yield "without bars fitted", lambda: _without("_bars")
    yield "without bars fitted anew, symbols doubted", lambda: _without("_faint_bars")
    yield "without clearing", lambda: _without("_clear")
    yield "without squares of known kinds fitted", lambda: _without("_known_grid")
    yield "without squares of all kinds fitted", lambda: _without("_grid")


@contextmanager
def _without(look: str) -> Iterator[None]:
    """A way to look at a place reads nothing; bars that are doubted are a way of their own."""
    whole = getattr(wall._Places, look)

    def nothing(*given: Any, **how: Any) -> Any:
        return whole(*given, **how) if how.get("doubting") else []

    with mock.patch.object(wall._Places, look, nothing):
        yield


def _counted(labels: int, level: str, size: tuple[int, int]) -> tuple[int, int, float]:
    """Labels read, texts that are on no label, seconds of a core, over all seeds."""
    right, wrong, spent = 0, 0, 0.0
    for seed in SEEDS:
        seen, grey = _pictured(labels, level, seed, size)
        begun = time.process_time()
        steps = wall.read(grey, patience=math.inf)
        texts = {hit.text for _, hits in steps for hit in hits}
        spent += time.process_time() - begun
        right += len(texts & set(seen.texts))
        wrong += len(texts - set(seen.texts))
    return right, wrong, spent


def _pictured(
    labels: int, level: str, seed: int, size: tuple[int, int] = walls.SIZE
) -> tuple[walls.Wall, preparing.Grey]:
    seen = walls.wall(labels, level, seed, size=size)
    data = np.frombuffer(seen.jpeg, np.uint8)
    return seen, np.asarray(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE), np.uint8)


def _level(level: str) -> str:
    """Labels found of all, seconds of a core, texts that are on no label; by step."""
    found, wrong, cells = Counter[str](), 0, []
    for labels in walls.GRIDS:
        before, spent = found.total(), 0.0
        for seed in SEEDS:
            seen, grey = _pictured(labels, level, seed)
            texts: set[str] = set()
            begun = time.process_time()
            # In seconds of a core: what else the machine does must not decide what is read.
            for step, hits in wall.read(grey, patience=math.inf):
                new = {hit.text for hit in hits} - texts
                texts |= new
                found[step] += len(new & set(seen.texts))
            spent += time.process_time() - begun
            wrong += len(texts - set(seen.texts))
        read = found.total() - before
        cells.append(f"{read} of {labels * len(SEEDS)} in {spent / len(SEEDS):.1f} s")
    steps = ", ".join(f"{step} {found[step]}" for step in found)
    return (
        f"- Walls of {_listed(walls.GRIDS)} labels, {level}, 12 million px, each: read "
        f"{', '.join(cells)} of a core, {wrong} wrong; first by {steps}."
    )


def _listed(numbers: Iterable[int]) -> str:
    return ", ".join(map(str, numbers))


if __name__ == "__main__":
    sys.exit(main())
