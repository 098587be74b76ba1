"""What a new firm has not entered yet: nothing of it is stored.

In the order in which it pays, as far as what a step needs goes before it: a kit list first, as it
needs no stock; then what scanning needs, places before the people who scan there.
"""

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
    kind: str  # of the file that brings it in, "" where no file does
    title: str
    why: str
    done: bool
    needs: str  # the title of a step that has to go before and is not done, "" for none

    @property
    def by_file(self) -> bool:
        """Whether the page where it is entered is that of files."""
        return self.route == "bring_in"


def _at(kind: str) -> Callable[[], QuerySet[Place]]:
    return lambda: Place.objects.filter(kind=kind)


@dataclass(frozen=True, slots=True)
class _Step:
    """A step as it is known beforehand."""

    route: str
    title: str
    why: str
    asked: tuple[Callable[[], QuerySet[Any]], ...]  # each finds something once the step is done
    kind: str = ""
    after: str = ""  # the title of a step above that it needs


LIST, PLACES = "A parts list", "A depot with dock and bins, and the vans"
_STEPS = (
    _Step(
        "list_new",
        LIST,
        "One sheet of old job lists makes one; one checked as a whole is loaded on the server.",
        (FamilyEdition.objects.all,),
    ),
    _Step(
        "job_new",
        "A first job",
        "Say what will stand there: its kit can be printed at once, before any stock is entered.",
        (Job.objects.all,),
        after=LIST,
    ),
    _Step(
        "places",
        PLACES,
        "Where goods arrive, lie and leave.",
        (_at(PlaceKind.DOCK), _at(PlaceKind.BIN), _at(PlaceKind.VAN)),
        kind="places",
    ),
    _Step(
        "people",
        "The people",
        "Who picks, who drives, who plans; each signs in by name, so that the record says who.",
        (lambda: Person.objects.filter(is_active=True).order_by("pk")[1:],),
    ),
    _Step(
        "partners",
        "Suppliers and carriers",
        "With the days within which each wants to be told of damage.",
        (Partner.objects.all,),
        kind="suppliers",
    ),
    _Step(
        "bring_in",
        "What lies on the shelves",
        "A file of stock, or box by box at Goods in. What was never counted is picked as usual.",
        (Holding.objects.all,),
        kind="stock",
        after=PLACES,
    ),
    _Step(
        "bring_in",
        "Stacks that stand already",
        "A file of what was fitted before, so that a swap, an expansion or a recall finds it.",
        (AsBuilt.objects.all,),
        kind="installed",
        after=LIST,
    ),
)


def first_steps() -> list[FirstStep]:
    """Return all steps, done or not; none once a kit was closed or when nothing is left to do."""
    closed = Exists(Kit.objects.exclude(closed_by=None))
    asked = {
        f"step{number}_{part}": Exists(there())
        for number, step in enumerate(_STEPS)
        for part, there in enumerate(step.asked)
    }
    told = Person.objects.annotate(closed=closed, **asked).values("closed", *asked).first()
    if told is None or told.pop("closed") or all(told.values()):
        return []
    found: list[FirstStep] = []
    for number, one in enumerate(_STEPS):
        done = all(told[f"step{number}_{part}"] for part in range(len(one.asked)))
        waits = any(step.title == one.after and not step.done for step in found)
        needs = one.after if waits else ""
        found.append(FirstStep(one.route, one.kind, one.title, one.why, done, needs))
    return found
