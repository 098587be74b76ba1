"""What a new firm has not entered yet, in the order in which it pays: nothing of it is stored."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, QuerySet

from inventory.models import Holding, Partner, Person, Place, PlaceKind
from kitting.models import AsBuilt, FamilyEdition, Job, Kit


@dataclass(frozen=True, slots=True)
class FirstStep:
    """Something that somebody enters once, and whether it was."""

    route: str  # the page where
    title: str
    why: str
    done: bool


def _at(kind: str) -> Callable[[], QuerySet[Place]]:
    return lambda: Place.objects.filter(kind=kind)


_Asked = Callable[[], QuerySet[Any]]  # what is there once the step is done

_STEPS: tuple[tuple[str, str, str, tuple[_Asked, ...]], ...] = (
    (
        "list_new",
        "A parts list",
        "One sheet of old job lists makes one; one checked as a whole is loaded on the server.",
        (FamilyEdition.objects.all,),
    ),
    (
        "job_new",
        "A first job",
        "Say what will stand there: its kit can be printed at once, before any stock is entered.",
        (Job.objects.all,),
    ),
    (
        "places",
        "A depot with dock and bins, and the vans",
        "Where goods arrive, lie and leave. Many at once: Bring in a file, Places and vans.",
        (_at(PlaceKind.DOCK), _at(PlaceKind.BIN), _at(PlaceKind.VAN)),
    ),
    (
        "people",
        "The people",
        "Who picks, who drives, who plans; each signs in by name, so that the record says who.",
        (lambda: Person.objects.filter(is_active=True).order_by("pk")[1:],),
    ),
    (
        "partners",
        "Suppliers and carriers",
        "With the days within which each wants to be told of damage.",
        (Partner.objects.all,),
    ),
    (
        "bring_in",
        "What lies on the shelves",
        "A file of stock, or box by box at Goods in. What was never counted is picked as usual.",
        (Holding.objects.all,),
    ),
    (
        "bring_in",
        "Stacks that stand already",
        "A file of what was fitted before, so that a swap, an expansion or a recall finds it.",
        (AsBuilt.objects.all,),
    ),
)


def first_steps() -> list[FirstStep]:
    """Return all steps, done or not; none once a kit was closed or when nothing is left to do."""
    closed = Exists(Kit.objects.exclude(closed_by=None))
    asked = {
        f"step{number}_{part}": Exists(there())
        for number, (*_, needed) in enumerate(_STEPS)
        for part, there in enumerate(needed)
    }
    told = Person.objects.annotate(closed=closed, **asked).values("closed", *asked).first()
    if told is None or told.pop("closed") or all(told.values()):
        return []
    return [
        FirstStep(route, title, why, all(told[f"step{n}_{part}"] for part in range(len(needed))))
        for n, (route, title, why, needed) in enumerate(_STEPS)
    ]
