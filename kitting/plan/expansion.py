"""What an expansion takes and frees: worked out need by need, never by subtracting two kits.

A need that is the same before and after takes nothing. One that changed takes what it lacks and
frees what it no longer holds. A
length is one new piece or none. What is freed by one need does not serve another, unless the item
is marked `reuse`.
Law: kit(before) + lines = kit(after) + comes back + renewed, item by item, for everything that
stands.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.lines import Line, Move, Reason, grouped, line, lines_of, reason_of
from kitting.plan.meeting import Entry, Met, meet, needs
from kitting.plan.needs import NEEDS, STANDING
from kitting.plan.topology import stack_of

Key = tuple[str, str]
"""Item and step."""


@dataclass(frozen=True, slots=True)
class Change:
    """What changes at a site."""

    lines: tuple[Line, ...]
    comes_back: tuple[Line, ...] = ()
    renewed: tuple[Line, ...] = ()
    moves: tuple[Move, ...] = ()


@dataclass(frozen=True, slots=True)
class Share:
    """What one need takes or frees of an item at a step; more than 0 either way."""

    place: str
    quantity: int
    reason: Reason
    pieces: tuple[int, ...] = ()


def change(family: Family, configuration: Configuration, after: Met) -> Change:
    """The change from `configuration.before` to the configuration. `after`: its needs, met."""
    assert configuration.before is not None
    before = standing(family, configuration.before)
    now = [entry for entry in after.entries if stands(entry)]
    tools = [entry for entry in after.entries if not stands(entry)]
    tools = [e for e in tools if not e.rule.once or _changed(e.demand.root, before, now)]
    kept_before = [e for e in before if family.items[e.item].renew != "whole"]
    kept_now = [e for e in now if family.items[e.item].renew != "whole"]
    taken, freed = _differences(kept_before, kept_now)
    moves = _reused(family, taken, freed)
    fresh = [e for e in now if family.items[e.item].renew == "whole"]
    thrown = [e for e in before if family.items[e.item].renew == "whole"]
    opened = _opened(family, configuration, now)
    for key, share in opened.items():
        taken.setdefault(key, []).append(share)
    return Change(
        lines=(*lines_of(family, [*tools, *fresh]), *_lines(family, taken)),
        comes_back=tuple(_lines(family, freed)),
        renewed=(
            *lines_of(family, thrown),
            *_lines(family, {key: [share] for key, share in opened.items()}),
        ),
        moves=tuple(moves),
    )


def standing(family: Family, configuration: Configuration) -> list[Entry]:
    """Everything that stands once a configuration is built."""
    return [entry for entry in stood(family, configuration).entries if stands(entry)]


def stood(family: Family, configuration: Configuration) -> Met:
    """What stands once a configuration is built, and what was told while it was built."""
    met = Met()
    site = configuration.site().for_job("new")
    asked = (d for d in needs(family, site, "new", met) if NEEDS[d.need].kind == STANDING)
    return meet(family, site, asked, met)


def stands(entry: Entry) -> bool:
    """Whether an entry stays at the site, rather than serve the work as what comes once does."""
    return NEEDS[entry.demand.root[0]].kind == STANDING and not entry.rule.once


def _changed(root: tuple[str, str, str], before: list[Entry], now: list[Entry]) -> bool:
    """Whether there is work at a need of what stands; the work's own needs arise at every visit."""
    if NEEDS[root[0]].kind != STANDING:
        return True
    was, will = (Counter[Key]() for _ in range(2))
    for entries, held in ((before, was), (now, will)):
        for entry in entries:
            if entry.demand.root == root:
                held[entry.item, entry.step] += entry.quantity
    return was != will


def _differences(
    before: list[Entry], now: list[Entry]
) -> tuple[dict[Key, list[Share]], dict[Key, list[Share]]]:
    """Need by need: what it takes more, what it frees."""
    old, new = _by_need(before), _by_need(now)
    taken: dict[Key, list[Share]] = {}
    freed: dict[Key, list[Share]] = {}
    for root in {**new, **old}:
        was, will = grouped(old.get(root, ())), grouped(new.get(root, ()))
        for key in {**will, **was}:
            more, less = _compared(root[2], was.get(key, []), will.get(key, []))
            if more is not None:
                taken.setdefault(key, []).append(more)
            if less is not None:
                freed.setdefault(key, []).append(less)
    return taken, freed


def _by_need(entries: Iterable[Entry]) -> dict[tuple[str, str, str], list[Entry]]:
    needs_of: dict[tuple[str, str, str], list[Entry]] = {}
    for entry in entries:
        needs_of.setdefault(entry.demand.root, []).append(entry)
    return needs_of


def _compared(place: str, was: list[Entry], will: list[Entry]) -> tuple[Share | None, Share | None]:
    """What one need takes more and frees, of one item at one step."""
    if any(entry.pieces for entry in (*was, *will)):
        return _cut(place, was, will)
    old, new = (sum(entry.quantity for entry in entries) for entries in (was, will))
    if new > old:
        words = f"{_words(will)}; {new} needed - {old} standing = {new - old}"
        return Share(place, new - old, _reason(will[-1], words)), None
    if old > new:
        words = f"{_words(was)}; {old} standing - {new} needed = {old - new}"
        return None, Share(place, old - new, _reason(was[-1], words))
    return None, None


def _cut(place: str, was: list[Entry], will: list[Entry]) -> tuple[Share | None, Share | None]:
    """Lengths are whole pieces: a longer run is a new piece, and the old one comes back."""
    old = Counter(piece for entry in was for piece in entry.pieces)
    new = Counter(piece for entry in will for piece in entry.pieces)
    more, less = tuple((new - old).elements()), tuple((old - new).elements())
    taken = Share(place, sum(more), _reason(will[-1], _words(will)), more) if more else None
    freed = Share(place, sum(less), _reason(was[-1], _words(was)), less) if less else None
    return taken, freed


def _words(entries: list[Entry]) -> str:
    return "; ".join(entry.words for entry in entries)


def _reason(entry: Entry, words: str) -> Reason:
    return reason_of(entry)._replace(arithmetic=words)


def _reused(
    family: Family, taken: dict[Key, list[Share]], freed: dict[Key, list[Share]]
) -> list[Move]:
    """Items marked `reuse` that are freed and taken move instead; both sides are lessened."""
    moves: list[Move] = []
    for key in [key for key in taken if key in freed and family.items[key[0]].reuse]:
        while taken[key] and freed[key]:
            to, origin = taken[key].pop(0), freed[key].pop(0)
            count = min(to.quantity, origin.quantity)
            moved = min(count, _moved(family, origin, to))
            if moved:
                moves.append(Move(key[0], moved, origin.place, to.place))
            if to.quantity > count:
                taken[key].insert(0, _less(to, count))
            if origin.quantity > count:
                freed[key].insert(0, _less(origin, count))
    return moves


def _moved(family: Family, origin: Share, to: Share) -> int:
    """How many may go along at most. Of a bus that grew only the far end, and not even that where
    the bus ends in the head, which is on top before and after."""
    need, _, of = to.reason.need.partition(": ")
    per = {bus.name: bus.per for bus in family.buses}.get(of)
    if need != "end the bus" or origin.reason.need != to.reason.need or per is None:
        return to.quantity
    one_stack = stack_of(origin.place) == stack_of(to.place)
    if one_stack and family.joints.link_with_head:
        return 0
    return 1 if one_stack or per == "system" else to.quantity


def _less(share: Share, count: int) -> Share:
    left = share.quantity - count
    words = f"{share.reason.arithmetic}; {share.quantity} - {count} moved = {left}"
    return Share(share.place, left, share.reason._replace(arithmetic=words))


def _opened(family: Family, configuration: Configuration, now: list[Entry]) -> dict[Key, Share]:
    """One piece for each stack that stood and changes: its joint is opened, its seal renewed."""
    assert configuration.before is not None
    pairs = zip(configuration.before.shape, configuration.shape, strict=False)
    changed = sum(1 for old, new in pairs if old != new)
    found: dict[Key, Share] = {}
    for key, entries in grouped(now).items():
        if changed and family.items[key[0]].renew == "opened joint":
            words = f"{changed} opened joints x 1, renewed because it was opened = {changed}"
            reason = _reason(entries[0], words)._replace(place="")
            found[key] = Share("opened", changed, reason)
    return found


def _lines(family: Family, shares: dict[Key, list[Share]]) -> list[Line]:
    return [
        line(
            family,
            item,
            sum(share.quantity for share in found),
            step,
            (share.reason._replace(quantity=share.quantity) for share in found),
            (piece for share in found for piece in share.pieces),
        )
        for (item, step), found in shares.items()
        if found
    ]
