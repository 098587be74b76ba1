"""How many labels of a wall are read, at what cost, and what each step of it adds."""

import math
import sys
import time
from collections import Counter
from pathlib import Path

import cv2
import numpy as np

from inventory.pictures import wall
from tests.bench import marks
from tests.pictures import walls

SEEDS = (41, 42)  # others than those the clearings were chosen on


def main() -> int:
    """Write the figures between their marks; return 0."""
    marks.write("walls", figures())
    return 0


def figures(place: Path | None = None) -> list[str]:
    """One line for each number of labels and difficulty. Needs no database and no photographs."""
    cv2.setNumThreads(1)
    return [_cell(labels, level) for level in walls.LEVELS for labels in walls.GRIDS]


def _cell(labels: int, level: str) -> str:
    """Labels found of all, texts that are on no label, seconds of a core, by step."""
    found, wrong = Counter[str](), 0
    spent = Counter[str]()
    for seed in SEEDS:
        seen = walls.wall(labels, level, seed)
        grey = np.asarray(
            cv2.imdecode(np.frombuffer(seen.jpeg, np.uint8), cv2.IMREAD_GRAYSCALE), np.uint8
        )
        texts: set[str] = set()
        begun = time.process_time()
        # In seconds of a core: what else the machine does must not decide what is read.
        for step, hits in wall.read(grey, patience=math.inf):
            new = {hit.text for hit in hits} - texts
            texts |= new
            found[step] += len(new & set(seen.texts))
            spent[step] += time.process_time() - begun
            begun = time.process_time()
        wrong += len(texts - set(seen.texts))
    steps = ", ".join(
        f"{step} +{found[step]} in {spent[step] / len(SEEDS):.1f} s" for step in found
    )
    return (
        f"- Wall of {labels} labels, {level}, 12 million px: {found.total()} of "
        f"{labels * len(SEEDS)} read, {wrong} wrong, {spent.total() / len(SEEDS):.1f} s of a core "
        f"each ({steps})."
    )


if __name__ == "__main__":
    sys.exit(main())
