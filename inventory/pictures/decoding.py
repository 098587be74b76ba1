"""The chain of steps from a grey picture to hits: cheapest first, stopped as soon as one counts."""

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

from inventory.pictures import decoders, preparing
from inventory.pictures.hit import Hit
from inventory.pictures.preparing import Grey, Prepared

ONE_LABEL_PIXELS = 4_000_000
"""A photo of one label is made this small first: more pixels cost time and read no better."""
SHELF_PIXELS = 16_000_000
"""A shelf keeps its pixels: sixty labels in 12 million px are near the limit already."""
BUDGET = 2.0
"""CPU seconds after which no further step is begun."""


@dataclass(frozen=True, slots=True)
class Step:
    """One preparation and the decoder that looks at it."""

    name: str
    prepare: Callable[[Grey], Prepared]
    decode: Callable[[Prepared], list[Hit]]
    most: int = SHELF_PIXELS  # px; a larger picture skips this step


# The order and the choice are measured (1,007 photos, 24 Nov 2026); see the preparations.
ONE_LABEL = (
    Step("zxing", preparing.raw, decoders.zxing),
    Step("zxing evened", preparing.clahe, decoders.zxing),
    Step("zxing doubled", preparing.doubled, decoders.zxing),
    Step("zbar smoothed", preparing.smoothed, decoders.zbar),
    Step("zxing sharpened", preparing.sharpened, decoders.zxing),
    Step("zxing doubled sharpened", preparing.doubled_sharpened, decoders.zxing),
    Step("zbar doubled", preparing.doubled, decoders.zbar),
    Step("zbar evened", preparing.clahe, decoders.zbar),
    *(
        Step(f"zxing turned {degrees}", partial(preparing.turned, degrees=degrees), decoders.zxing)
        for degrees in (20, -20, 45, -45)
    ),
)

# For a shelf all of these run and their hits are joined; if nothing counts, the others follow.
SHELF = (
    Step("zxing", preparing.raw, decoders.zxing),
    Step("zxing sharpened", preparing.sharpened, decoders.zxing),
    Step("zxing doubled", preparing.doubled, decoders.zxing, ONE_LABEL_PIXELS),
    Step("zbar smoothed", preparing.smoothed, decoders.zbar),
)


def decode(grey: Grey, shelf: bool = False) -> Iterator[tuple[str, list[Hit]]]:
    """Each step's name and hits; the caller stops asking when it has enough.

    Boxes are px of `grey`. With `shelf` those of SHELF come first, each step once. Ends early
    after BUDGET seconds of CPU time.
    """
    small = preparing.shrunk(grey, SHELF_PIXELS if shelf else ONE_LABEL_PIXELS)
    factor = float(small.back[0, 0])
    begun = time.process_time()
    first = SHELF if shelf else ()
    done = {step.name for step in first}
    for step in (*first, *(step for step in ONE_LABEL if step.name not in done)):
        if time.process_time() - begun > BUDGET:
            return
        if small.pixels.size <= step.most:
            hits = step.decode(step.prepare(small.pixels))
            yield step.name, [_scaled(hit, factor) for hit in hits]


def _scaled(hit: Hit, factor: float) -> Hit:
    x, y, width, height = (round(side * factor) for side in hit.box)
    return Hit(hit.text, hit.symbology, (x, y, width, height))
