"""Published lists of pieces, days of cable and short stocks, each with the best that is known.

`data/cutting.jsonl.xz`, one a line, each with its source: the classic lists and their optima from
GitHub mdelorme2/BPPLIB (commit 21941c8) and rafaelmartinelli/BPPLib.jl (commit 2b30a39, lower =
upper bound); days of cable and short stocks were generated for the project's planning notes, and
their best known values found there by other solvers. `data/worked.json`: published worked examples,
each with its source and whether it was found or is from memory.
"""

import json
import lzma
from functools import cache
from pathlib import Path

DATA = Path(__file__).parent / "data"


@cache
def instances():
    """All of them by name."""
    with lzma.open(DATA / "cutting.jsonl.xz", "rt", encoding="utf-8") as lines:
        return {row["name"]: row for row in map(json.loads, lines)}


def named(first="", key="items"):
    """Names that begin so, of those that have this key."""
    found = [name for name, row in instances().items() if name.startswith(first) and key in row]
    assert found, (first, key)
    return found


@cache
def worked():
    """Published worked examples by id."""
    rows = json.loads((DATA / "worked.json").read_text(encoding="utf-8"))
    return {row["id"]: row for row in rows}
