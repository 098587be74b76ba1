"""Simulated days: what a bad network, wrong clocks and a dying server do, they do without a trace.

One seed is one day of three phones (`tests/laws/simulation/`): deliveries, put-away, counts, picks,
loading, unboxing, missing and damaged things, fitting, undoing. Run in a database of its own.
"""

from __future__ import annotations

import difflib
import os
from pathlib import Path
from typing import Any

import pytest

from tests.counts import FULL, counts
from tests.laws.processes import own_database, run

SEEDS, ACTS = counts(2, 200), counts(40, 100)
LEAST = 50  # times that each fault must have struck at full counts
MODULE = "tests.laws.simulation"
STEPS = {
    *("receive", "put", "count", "undo", "pick", "load"),
    *("unbox", "missing", "damaged", "fit", "commission"),
}


DAYS = ("0", str(SEEDS), str(ACTS))


def judge(told: dict[str, Any], folder: Path) -> None:
    """Print how often each fault struck; each bad day must have ended as the calm one."""
    print(f"\n{SEEDS} seeds, {told['events']} events: {told['steps']}")
    print(f"struck: {told['struck']}")
    assert told["events"] == SEEDS * 3 * ACTS
    assert set(told["steps"]) == STEPS
    if FULL:
        assert min(told["struck"].values()) >= LEAST, told["struck"]
    for seed, digest in told["digests"].items():
        assert digest == told["calm"][seed], _difference(folder, seed)
    assert told["clocks"] == [], "a wrong clock decided something"


def _difference(folder: Path, seed: str) -> str:
    one, two = (Path(folder / f"{seed}.{kind}").read_text() for kind in ("run", "again"))
    return "\n".join(difflib.unified_diff(two.splitlines(), one.splitlines(), n=0, lineterm=""))


@pytest.mark.slow
def test_on_sqlite_a_bad_day_ends_as_a_calm_one(tmp_path: Path) -> None:
    """I7 to I10, I18: each scan counts once, whatever is lost, doubled, late, killed or restored.

    With things of its own each crew ends where it would have ended had every scan been answered at
    once; where crews reach for the same things, as in the order in which they came.
    """
    told = run(f"sqlite:///{tmp_path}/days", "both", *DAYS, str(tmp_path), module=MODULE)

    judge(told, tmp_path)


@pytest.mark.postgres_only
@pytest.mark.slow
def test_on_postgresql_a_bad_day_ends_as_a_calm_one_on_sqlite(tmp_path: Path) -> None:
    """I19: also between the two databases."""
    with own_database(os.environ["DATABASE_URL"]) as url:
        told = run(url, "run", *DAYS, str(tmp_path), module=MODULE)
    again = run(f"sqlite:///{tmp_path}/again", "again", str(tmp_path), module=MODULE)

    judge(told | again, tmp_path)
