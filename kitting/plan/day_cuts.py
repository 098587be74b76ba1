"""A day's cuts: every piece of every kit at once, from remnants, reels and ready-made lengths.

What a plan costs is said in mm of cable: what is left too short is scrap, a reel that is opened and
a remnant that goes back on the shelf stand about, a ready-made length is paid for. Many plans are
tried from a fixed seed (`plan.day_tries`); HiGHS then looks for a better one and says what no plan
costs less than, so that the answer is "proven within so many mm".

Source: common practice, no published source; the weights stand in tables/cut_weights.csv. For a
remnant only what pieces can add up to counts as its length, which sharpens the bound.
"""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Final, NamedTuple

from kitting.plan import lookup

TRIES: Final = 8_000
"""Plans tried before HiGHS is asked: about a third of a second of a core for 60 pieces."""
SECONDS: Final = 1.5
"""After so long HiGHS says how far it has come."""


class Weights(NamedTuple):
    """What counts, in one unit of length; whole numbers."""

    useful: int
    """What is left and shorter than this is scrap."""
    opened: int
    """A new reel opened counts as so much scrap."""
    kept: int
    """A stick cut from and put back with a useful rest counts as so much."""
    ready: int
    """A ready-made length counts as so many thousandths of it, and what hangs over as scrap."""
    allowance: int
    """Taken by each cut beside the piece, for trimming its ends."""
    missing: int
    """A piece that nothing holds counts as so much: more than any plan wastes."""


class Stick(NamedTuple):
    """One length that lies somewhere."""

    length: int
    new: bool = False
    """Whether it has to be opened."""


class Ready(NamedTuple):
    """Lengths with both ends on, never cut."""

    length: int
    stock: int


class Job(NamedTuple):
    """All that is asked."""

    pieces: tuple[int, ...]
    sticks: tuple[Stick, ...]
    ready: tuple[Ready, ...]
    weights: Weights


class Loads(NamedTuple):
    """A plan: places of pieces by the stick they are cut from, and of those that are ready-made."""

    cost: int
    sticks: Mapping[int, Sequence[int]]
    ready: Mapping[int, int]
    """Place of a piece -> place of the ready-made length; pieces in neither have none."""


class DayPlan(NamedTuple):
    """What is cut from what."""

    sticks: Mapping[int, Sequence[int]]
    """Place of a stick -> places of the pieces cut from it."""
    ready: Mapping[int, int]
    """Place of a piece -> place of the ready-made length taken for it."""
    missing: tuple[int, ...]
    """Places of pieces that nothing holds."""
    cost: int
    bound: int
    """No plan costs less."""

    @property
    def within(self) -> int:
        """No plan is cheaper by more than this; 0: none is cheaper."""
        return self.cost - self.bound


@cache
def weights() -> Weights:
    """The firm's choice: mm of tables/cut_weights.csv."""
    rows = {row["name"]: int(row["value"]) for row in lookup.table("cut_weights").rows}
    return Weights(**rows)


def plan(
    pieces: Sequence[int],
    sticks: Sequence[Stick],
    ready: Sequence[Ready] = (),
    by: Weights | None = None,
    *,
    tries: int = TRIES,
    seconds: float = SECONDS,
) -> DayPlan:
    """Plan a day. pieces: 1 or more each, in the unit of the sticks and of the weights.

    >>> plan([3000, 2000], [Stick(9000), Stick(5010), Stick(100_000, new=True)]).sticks
    {1: [0, 1]}
    """
    # Both know what stands here.
    from kitting.plan.day_proof import proved
    from kitting.plan.day_tries import Tries

    job = Job(tuple(pieces), tuple(sticks), tuple(ready), by or weights())
    found = Tries(job).best(tries)
    found, bound = proved(job, found, seconds) if found.cost else (found, 0)
    placed = {*found.ready, *(at for load in found.sticks.values() for at in load)}
    missing = tuple(at for at in range(len(pieces)) if at not in placed)
    kept = {at: sorted(load) for at, load in sorted(found.sticks.items())}
    return DayPlan(kept, dict(sorted(found.ready.items())), missing, found.cost, bound)


def stick_cost(stick: Stick, load: int, by: Weights) -> int:
    """What cutting so much from a stick costs."""
    if not load:
        return 0
    left = stick.length - load
    return stick.new * by.opened + (left if left < by.useful else min(left, by.kept))


def ready_cost(length: int, piece: int, by: Weights) -> int:
    """What a ready-made length costs for a piece it holds."""
    return length * by.ready // 1000 + length - piece


def most_of(lengths: Sequence[int], room: int) -> int:
    """The most that some of these lengths add up to within a room.

    >>> most_of([5, 5, 7], 11)
    10
    """
    sums = 1
    for length in lengths:
        sums |= sums << length
    return (sums & ((1 << room + 1) - 1)).bit_length() - 1
