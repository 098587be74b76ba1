"""The families that ship, and the configurations of their hand-worked tables."""

import functools
import json
from pathlib import Path

from kitting.plan import family, proof

FAMILIES = Path(__file__).parents[2] / "fixtures" / "families"
NAMES = ("tower", "row", "bank")


@functools.cache
def edition(name):
    path = FAMILIES / f"{name}.toml"
    return family.parse(path.read_text(encoding="utf-8"), path.name)


@functools.cache
def hand(name):
    return json.loads((FAMILIES / f"{name}.hand.json").read_text(encoding="utf-8"))


@functools.cache
def checked(name):
    """The family check of the whole edition, once for all tests."""
    return proof.check(edition(name))
