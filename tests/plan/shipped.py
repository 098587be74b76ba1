"""The families that ship, and the configurations of their hand-worked tables."""

import functools
import json
from pathlib import Path

from kitting.plan import family

FAMILIES = Path(__file__).parents[2] / "fixtures" / "families"
NAMES = ("tower", "row", "bank")
PROVEN = ("tower", "row")
"""Those whose whole check is quick enough for the tests."""


@functools.cache
def edition(name):
    path = FAMILIES / f"{name}.toml"
    return family.parse(path.read_text(encoding="utf-8"), path.name)


@functools.cache
def hand(name):
    return json.loads((FAMILIES / f"{name}.hand.json").read_text(encoding="utf-8"))
