"""Legal configurations spread over the whole space of a family, the same ones each time."""

import functools
import itertools
import json
import random

from kitting.plan import breakpoints, configuration, space
from kitting.plan.meeting import Met, meet, needs

WANTED = 500
"""Distinct legal configurations that each law is held over, of each family."""
MORE = 2 * WANTED + 20
"""Of which to choose, where a law cannot be asked of each."""


def any_row(shape):
    """Whatever stands."""
    return True


def equal_stacks(shape):
    """At least two stacks of equal modules."""
    return len(set(shape)) < len(shape)


@functools.lru_cache(maxsize=32)
def spread(known, wanted=WANTED, like=any_row):
    """So many distinct legal configurations: every row of stacks in turn that is `like` what is
    asked, the answers by a seeded chance, numbers half of the time at the edition's own figures.
    More of them begin with the same ones."""
    rows = itertools.cycle([shape for shape in standing(known) if like(shape)])
    found, turns = {}, itertools.count()
    while len(found) < wanted:
        shape = next(rows)
        data = next(filter(None, (drawn(known, turn, shape) for turn in turns)))
        found.setdefault(json.dumps(data), configuration.parse(data, known))
    return list(found.values())


def standing(known):
    """Every row of stacks that some legal configuration has. Rules have no say in that: an edition
    with a slip in one has the rows of the right one."""
    asked = (known.bounds, known.joints, known.axes, known.shapes, known.items, known.limits)
    for other, rows in STANDING.get(known.name, ()):
        if other == asked:
            return rows
    rows = [
        shape
        for shape in space.shapes(known)
        if any(drawn(known, turn, shape) is not None for turn in range(40))
    ]
    STANDING.setdefault(known.name, []).append((asked, rows))
    return rows


STANDING = {}
"""Name -> what decides which rows may stand, with those rows."""


def drawn(known, turn, shape):
    """One configuration of a row of stacks, None where a limit refuses it."""
    chance = random.Random(f"{known.name} {turn} {shape}")
    chosen = {space.SHAPE: shape}
    for name, axis in known.axes.items():
        chosen[name] = None
        if space.asked(known, name, chosen):
            own = axis.kind == "choice" or chance.random() < 0.5
            chosen[name] = (
                chance.choice(breakpoints.walked(known, axis))
                if own
                else chance.randint(axis.low, axis.high)
            )
    legal = space.legal(known, space.site(known, chosen), known.limits)
    return space.as_json(known, chosen) if legal else None


def met(known, data, order=list):
    """A configuration's needs, met; `order` may change the needs before."""
    found = Met()
    return meet(known, data.site(), order(list(needs(known, data.site(), data.job, found))), found)


@functools.lru_cache(maxsize=MORE)
def met_at(known, turn):
    """The needs of one of the spread, met once for all laws."""
    return met(known, spread(known, MORE)[turn])


def stands(known, data):
    """Whether what a configuration asks for keeps every limit."""
    return space.legal(known, data.site(), known.limits)


def changed(known, data, **answers):
    """The same configuration with some answers changed; None where it is not legal."""
    try:
        found = configuration.parse({**data.as_json(), **answers}, known)
    except configuration.ConfigurationError:
        return None
    return found if stands(known, found) else None


def stacks(shape):
    """A row of stacks as a configuration has it."""
    return [{"modules": modules} for modules in shape]
