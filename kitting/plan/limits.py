"""What a family refuses: every broken limit at once, each with its reason."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from kitting.plan import conditions, outline
from kitting.plan.conditions import When, holds
from kitting.plan.reading import LARGEST, Table
from kitting.plan.site import Scope, Site

if TYPE_CHECKING:
    from kitting.plan.family import Family

PER_STACK: Final = ("modules", "height", "stack_mass")
OF_SYSTEM: Final = ("stacks", "total_modules", "units", "total_mass", "difference")
VERDICTS: Final = ("allowed", "allowed if", "barred")


@dataclass(frozen=True, slots=True)
class Limit:
    """One bound, or a bare combination that is barred."""

    name: str
    message: str
    measure: str
    """Empty where `when` alone is barred."""
    low: int
    high: int
    """In the measure's own unit, both ends allowed."""
    when: When

    def names(self) -> set[str]:
        """What it reads of the site."""
        return {condition.name for condition in self.when} | {self.measure}


@dataclass(frozen=True, slots=True)
class Mixing:
    """What holds where revisions stand together."""

    revisions: frozenset[str]
    verdict: str
    """allowed, allowed if, barred."""
    message: str


def parse(table: Table, names: Collection[str], numbers: Collection[str]) -> Limit:
    """One [[limit]]. `numbers`: axes that hold a number."""
    measure = ""
    if table.has("measure"):
        measure = table.text("measure", among=(*PER_STACK, *OF_SYSTEM, *sorted(numbers)))
    if measure and not (table.has("max") or table.has("min")):
        table.fault("max", "expected max or min beside a measure, got neither")
    if not measure and not table.has("when"):
        table.fault("when", "expected a measure or a condition, got neither")
    limit = Limit(
        name=table.text("name"),
        message=table.text("message"),
        measure=measure,
        low=table.whole("min", -LARGEST, default=-LARGEST),
        high=table.whole("max", -LARGEST, 10 * LARGEST, 10 * LARGEST),
        when=conditions.parse(table, names),
    )
    table.finish()
    return limit


def mixing(table: Table) -> Mixing:
    """One [[mixing]]."""
    found = Mixing(
        frozenset(table.texts("revisions")),
        table.text("verdict", among=VERDICTS),
        table.text("message"),
    )
    table.finish()
    return found


def broken(limit: Limit, family: "Family", site: Site) -> str:
    """The reason where the site breaks it, else empty. Raises UnknownInput."""
    if limit.measure not in PER_STACK:
        scope = Scope(site, {})
        return _judge(limit, _measure(limit, family, site) if holds(limit.when, scope) else None)
    for number, modules in enumerate(site.stacks(), 1):
        scope = Scope(site, {"stack": number, "modules": modules})
        if holds(limit.when, scope):
            reason = _judge(limit, _of_stack(limit.measure, family, scope))
            if reason:
                return f"{reason} (stack {number})"
    return ""


def where(limit: Limit, family: "Family", site: Site) -> frozenset[tuple[int, int]]:
    """Places that a broken limit is about: (stack, level), level 0 for a whole stack.

    None where the site keeps it, or where an answer breaks it that stands at no place of the stack.
    Raises UnknownInput.
    """
    if not broken(limit, family, site):
        return frozenset()
    shape = site.stacks()
    if limit.measure in PER_STACK:
        return frozenset(
            place for scope in _scopes(site) for place in _beyond(limit, family, scope)
        )
    match limit.measure:
        case "stacks":
            return frozenset((number, 0) for number in range(limit.high + 1, len(shape) + 1))
        case "difference":
            odd = (number for number, modules in enumerate(shape, 1) if modules != shape[0])
            return frozenset((number, 0) for number in odd)
        case "" | "units" | "total_modules" | "total_mass":
            return frozenset((number, 0) for number in range(1, len(shape) + 1))
    return frozenset()


def _beyond(limit: Limit, family: "Family", scope: Scope) -> Iterator[tuple[int, int]]:
    """The places of one stack beyond a limit."""
    stack, modules = scope.number("stack"), scope.number("modules")
    if not (holds(limit.when, scope) and _judge(limit, _of_stack(limit.measure, family, scope))):
        return
    if limit.measure == "modules" and modules > limit.high:
        yield from ((stack, level) for level in range(max(limit.high, 0) + 1, modules + 1))
    else:
        yield stack, 0


def _judge(limit: Limit, value: int | None) -> str:
    if value is None or (limit.measure and limit.low <= value <= limit.high):
        return ""
    if not limit.measure:
        return limit.message
    bound = f"at least {limit.low}" if value < limit.low else f"at most {limit.high}"
    return f"{limit.message}: expected {bound}, got {value}"


def _measure(limit: Limit, family: "Family", site: Site) -> int | None:
    shape = site.stacks() if limit.measure in OF_SYSTEM else ()
    match limit.measure:
        case "":
            return 0
        case "stacks":
            return len(shape)
        case "total_modules":
            return sum(shape)
        case "units":
            return sum(shape) + sum(1 for _ in _heads(family, site))
        case "difference":
            return max(shape) - min(shape)
        case "total_mass":
            scopes = _scopes(site)
            return sum(_of_stack("stack_mass", family, scope) for scope in scopes)
    value = site.read(limit.measure)
    return value if isinstance(value, int) else None


def _scopes(site: Site) -> Iterator[Scope]:
    for number, modules in enumerate(site.stacks(), 1):
        yield Scope(site, {"stack": number, "modules": modules})


def _heads(family: "Family", site: Site) -> Iterator[str]:
    for scope in _scopes(site):
        head = outline.shape(family, "head", scope)
        if head is not None:
            yield head.item


def _of_stack(measure: str, family: "Family", scope: Scope) -> int:
    modules = scope.number("modules")
    if measure == "modules":
        return modules
    if measure == "height":
        return outline.height(family, scope)
    module, head = (outline.shape(family, kind, scope) for kind in ("module", "head"))
    mass = modules * family.items[module.item].mass_g if module is not None else 0
    return mass + (family.items[head.item].mass_g if head is not None else 0)
