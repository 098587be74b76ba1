"""From the answers that have a fault to a configuration file that shows it, with what its job asks
for besides."""

from collections.abc import Iterator
from dataclasses import replace

from kitting.plan import configuration, kit, space, swap
from kitting.plan.family import Family
from kitting.plan.space import Chosen

Example = dict[str, object]


def of(family: Family, chosen: Chosen, job: str, message: str) -> Example | None:
    """A configuration file whose kit is refused with the message; None where no job of these
    answers comes across it."""
    plain = space.as_json(family, chosen, job)
    match job:
        case "expansion":
            return {**plain, "before": {"stacks": plain["stacks"]}}
        case "swap":
            # A swap only has the needs of what it opens, so not every unit comes across the fault.
            swaps = ({**plain, "swap": places} for places in _places(family, plain))
            return next((one for one in swaps if _refused(family, one, message)), None)
    return plain


def _places(family: Family, plain: Example) -> Iterator[list[dict[str, int]]]:
    """Each unit by itself, then all at once: a fault of any swap is a fault of that one."""
    first = configuration.parse({**plain, "swap": [{"stack": 1, "level": 1}]}, family)
    every = [
        {"stack": stack, "level": level}
        for stack, modules in enumerate(first.shape, 1)
        for level in range(1, modules + 2)
        if swap.item_at(family, first, stack, level)
    ]
    yield from ([place] for place in every)
    yield every


def _refused(family: Family, example: Example, message: str) -> bool:
    # In a trial edition an unmet need is a question; as a fault it is refused.
    strict = replace(family, status="released", meeting={})
    found = kit.work_out(strict, configuration.parse(example, strict))
    return any(refusal.message == message for refusal in found.refused)
