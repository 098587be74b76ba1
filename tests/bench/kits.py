"""How long a kit takes: family loaded, another configuration each time, nothing remembered."""

import dataclasses
import itertools
import time
from pathlib import Path
from typing import Any

from kitting.plan import configuration, family, kit
from tests.tree import TOP as ROOT

GOAL_MS = 5


def figures(place: Path) -> list[str]:
    """Time the tower over many different site answers: 2 x 4 modules, 3 x 5 (the most that it
    allows), and 3 x 6 with its limits set aside."""
    text = (ROOT / "fixtures" / "families" / "tower.toml").read_text()
    tower = family.parse(text, "tower.toml")
    unlimited = dataclasses.replace(tower, limits=())
    return [
        _timed(tower, (4, 4), "2 x 4 modules"),
        _timed(tower, (5, 5, 5), "3 x 5 modules"),
        _timed(unlimited, (6, 6, 6), "3 x 6 modules, limits set aside"),
    ]


def _timed(tower: family.Family, shape: tuple[int, ...], told: str) -> str:
    stacks = [{"modules": modules} for modules in shape]
    asked = [{**one, "stacks": stacks} for one in itertools.islice(_configurations(), 300)]
    for data in asked[:20]:
        kit.work_out(tower, configuration.parse(data, tower))
    took, lines = [], 0
    for data in asked[20:]:
        began = time.perf_counter()
        worked_out = kit.work_out(tower, configuration.parse(data, tower))
        took.append((time.perf_counter() - began) * 1000)
        assert not worked_out.refused, worked_out.refused
        lines += len(worked_out.lines)
    took.sort()
    median, slow = took[len(took) // 2], took[int(len(took) * 0.95)]
    return (
        f"- Kit of {told} ({lines // len(took)} lines): median {median:.2f} ms, "
        f"p95 {slow:.2f} ms over {len(took)} different configurations (goal {GOAL_MS} ms)."
    )


def _configurations() -> Any:  # configuration files as they are written
    for ac_run, data_run, gap in itertools.product(
        range(2000, 12000, 1000), range(3000, 9000, 1000), range(100, 1100, 200)
    ):
        yield {
            "family": "tower",
            "job": "new",
            "mount": "floor",
            "wall": "solid",
            "covering": 10,
            "place": "indoor",
            "restraint": "none",
            "head_rev": "A",
            "entry_side": "left",
            "gap": gap,
            "ac_way": "clipped",
            "ac_run": ac_run,
            "ac_od": 130,
            "data_run": data_run,
            "data_od": 70,
            "earth_run": ac_run,
        }
