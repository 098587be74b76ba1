"""What is cut from what: the fewest sticks of one length, and a day's cuts from what lies there.
And what is short shared out, so that most kits are whole.

Source: `kitting/plan/equal_lengths.py`, `kitting/plan/day_cuts.py`, `kitting/plan/most_kits.py`,
each with its own.
"""

from collections.abc import Sequence
from typing import Any, Final

from kitting.plan import day_cuts, equal_lengths
from kitting.plan import most_kits as sharing
from kitting.plan.day_cuts import Ready, Stick
from kitting.plan.figure import Figure
from kitting.plan.inputs import Wrong, many, pair, text, whole

MOST: Final = 600
"""Pieces in one question."""


def fewest(stick: int, pieces: Sequence[int]) -> dict[str, Any]:
    """How many sticks, how many at least, and what is cut from each.

    >>> fewest(6000, [4000, 3000, 3000, 2000])["sticks"]
    [[4000, 2000], [3000, 3000]]
    """
    if max(pieces) > stick:
        raise Wrong(f"pieces: expected at most the stick's {stick}, got {max(pieces)}")
    found = equal_lengths.fewest(pieces, stick)
    return {
        "needed": len(found.sticks),
        "at_least": found.bound,
        "sticks": [list(one) for one in found.sticks],
    }


def day(
    pieces: Sequence[int],
    kept: Sequence[int] | None,
    reels: Sequence[int] | None,
    ready: Sequence[tuple[int, int]] | None,
) -> dict[str, Any]:
    """The pieces cut from each stick that is touched, kept ones first, then new reels.

    >>> day([3000, 2000], [9000, 5010], [100000], None)["cut"]
    [[5010, [3000, 2000]]]
    """
    sticks = [*(Stick(mm) for mm in kept or ()), *(Stick(mm, new=True) for mm in reels or ())]
    lengths = [Ready(mm, stock) for mm, stock in ready or ()]
    found = day_cuts.plan(pieces, sticks, lengths)
    return {
        "cut": [
            [sticks[at].length, [pieces[piece] for piece in load]]
            for at, load in found.sticks.items()
        ],
        "ready_made": [[pieces[at], lengths[of].length] for at, of in found.ready.items()],
        "missing": [pieces[at] for at in found.missing],
        "counts_as_mm": found.cost,
        "proven_within_mm": found.within,
    }


def most_kits(
    jobs: Sequence[Sequence[tuple[str, int]]], stock: Sequence[tuple[str, int]]
) -> dict[str, Any]:
    """Which jobs are whole, counted from 1 in the order of their claims.

    >>> most_kits([[("lead", 2)], [("lead", 1)], [("lead", 1)]], [("lead", 2)])["most"]
    [2, 3]
    """
    needs = [dict(job) for job in jobs]
    found = sharing.share(needs, dict(stock))
    return {
        "most": [at + 1 for at in found.whole],
        "at_most": found.bound,
        "by_date": [at + 1 for at in sharing.by_date(needs, dict(stock))],
    }


_MM: Final = whole(1, 1_000_000)

FIGURES: Final = (
    Figure(
        "cut.fewest",
        "sticks",
        "bound L2 (Martello and Toth), columns (Gilmore and Gomory); proven where both meet",
        "1961, 1990",
        fewest,
        {"stick": _MM, "pieces": many(_MM, 1, MOST)},
    ),
    Figure(
        "cut.day",
        "mm",
        "our weights, tables/cut_weights.csv; bound by HiGHS",
        "1",
        day,
        {"pieces_mm": many(_MM, 1, MOST)},
        {
            "kept_mm": many(_MM, 0, MOST),
            "reels_mm": many(_MM, 0, MOST),
            "ready_mm": many(pair(_MM, whole(1, 1000)), 0, MOST),
        },
    ),
    Figure(
        "kits.most",
        "jobs",
        "0-1 knapsack with several bounds, HiGHS; proven where most and at_most meet",
        "2004",
        most_kits,
        {
            "jobs": many(many(pair(text, whole(1)), 0, MOST), 1, MOST),
            "stock": many(pair(text, whole()), 0, MOST),
        },
    ),
)
