"""The chain of steps from a grey picture to hits: cheapest first, stopped as soon as one counts.

What each step adds and costs: `make bench-pictures`, in DEVELOPERS.md between its marks.
"""

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from inventory.pictures import bars, decoders, preparing
from inventory.pictures.hit import Hit
from inventory.pictures.preparing import Grey, Prepared

ONE_LABEL_PIXELS = 4_000_000
"""A photo of one label is made this small first: more pixels cost time and read no better."""
BUDGET = 2.0
"""CPU seconds after which no further step is begun."""


@dataclass(frozen=True, slots=True)
class Step:
    """One preparation and the decoder that looks at what it gives."""

    name: str
    prepare: Callable[[Grey], Iterable[Prepared]]
    decode: Callable[[Prepared], list[Hit]]


def whole(prepare: Callable[[Grey], Prepared]) -> Callable[[Grey], Iterable[Prepared]]:
    """The whole picture prepared, as the one thing to look at."""
    return lambda grey: [prepare(grey)]


# Chosen and put in order over the half of the photographs whose hash is even, and drawn codes.
ONE_LABEL = (
    Step("zxing", whole(preparing.raw), decoders.zxing),
    Step("zxing upright", bars.uprights, decoders.zxing_lines),
    Step("zxing refocused far", whole(preparing.refocused_far), decoders.zxing),
    Step("zxing upright large", bars.uprights_large, decoders.zxing_lines),
    Step("zbar doubled", whole(preparing.doubled), decoders.zbar),
    Step("zxing doubled", whole(preparing.doubled), decoders.zxing),
    Step("zxing refocused", whole(preparing.refocused), decoders.zxing),
)


def decode(grey: Grey) -> Iterator[tuple[str, list[Hit]]]:
    """Each step's name and hits; the caller stops asking when it has enough.

    Boxes are px of `grey`. Ends early after BUDGET seconds of CPU time. Many labels at once are
    read by inventory.pictures.wall.
    """
    small = preparing.shrunk(grey, ONE_LABEL_PIXELS)
    factor = float(small.back[0, 0])
    begun = time.process_time()
    for step in ONE_LABEL:
        if time.process_time() - begun > BUDGET:
            return
        yield step.name, [_scaled(hit, factor) for hit in looked(step, small.pixels)]


def looked(step: Step, grey: Grey) -> list[Hit]:
    """What one step reads; each hit names it."""
    views = step.prepare(grey)
    return [replace(hit, step=step.name) for view in views for hit in step.decode(view)]


def _scaled(hit: Hit, factor: float) -> Hit:
    x, y, width, height = (round(side * factor) for side in hit.box)
    return replace(hit, box=(x, y, width, height))
