"""A rule: how one need is met. Rules are put in the order in which they can be counted; circles are
faults."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from kitting.plan import conditions
from kitting.plan.conditions import When
from kitting.plan.errors import Fault
from kitting.plan.given import Book, Counting
from kitting.plan.items import FamilyItem
from kitting.plan.needs import NEEDS
from kitting.plan.reading import Table, shown
from kitting.plan.ways import ways

Raised = tuple[str, str]  # a need, the part it is of


@dataclass(frozen=True, slots=True)
class Rule:
    """One way for one need, under one condition."""

    name: str
    need: str
    of: tuple[str, ...]
    """Parts it meets; empty = any."""
    step: str
    """Empty: the step of the line that raised the need."""
    when: When
    source: str
    way: str
    counting: Counting
    task: str = ""
    """A sentence that the kit tells at the step wherever the rule meets a need."""
    once: bool = False
    """However many needs it meets, its item comes once for the whole job."""

    def meets(self, need: str, of: str) -> bool:
        """Whether it is for this need and part."""
        return self.need == need and (not self.of or of in self.of)


def parse(table: Table, book: Book, steps: Collection[str]) -> Rule | None:
    """One [[rule]]; None where not even its way is known."""
    name, way = table.text("name"), table.text("way", among=ways())
    need, of = table.text("need", among=NEEDS), table.texts("of", ())
    step = table.text("step", "", among=steps) if table.has("step") else ""
    when, source = conditions.parse(table, book.names), table.text("source", "")
    task, once = table.text("task", ""), table.flag("once", default=False)
    if way not in ways():
        return None
    counting = ways()[way](table, book)
    for item in counting.items():
        if item not in book.items:
            table.unknown(table.key_of(item), item, book.items)
        elif once and (book.items[item].raises or book.items[item].unit != "piece"):
            table.fault("once", f"expected pieces that raise nothing, got {shown(item)}")
    table.finish()
    return Rule(name, need, of, step, when, source, way, counting, task, once)


def in_order(rules: Iterable[Rule], book: Book, faults: list[Fault], where: str) -> list[Rule]:
    """The rules so that each comes after all whose lines or raised needs it rests on."""
    left = list(rules)
    known = [(other.name, {*raised(other, book)}, {*other.counting.items()}) for other in left]
    rests = {rule.name: _rests_on(rule, known) for rule in left}
    done: list[Rule] = []
    placed: set[str] = set()
    while left:
        ready = [rule for rule in left if rests[rule.name] <= placed]
        if not ready:
            circle = _circle(left[0].name, rests, placed)
            at = f"{where}: rule {circle[0]!r}"
            faults.append(Fault(at, "way", f"expected no circle, got {' -> '.join(circle)}"))
            return done + left
        done += ready
        placed.update(rule.name for rule in ready)
        left = [rule for rule in left if rule.name not in placed]
    return done


def _rests_on(rule: Rule, rules: Iterable[tuple[str, set[Raised], set[str]]]) -> set[str]:
    """Names of those (name, raised needs, items) that must be counted before this one."""
    counted = set(rule.counting.counted())
    return {
        name
        for name, raises, items in rules
        if counted & items or any(rule.meets(need, of) for need, of in raises)
    }


def raised(rule: Rule, book: Book) -> Iterable[Raised]:
    """Every need, with its part, that what the rule gives can raise."""
    own = (*getattr(rule.counting, "couples", ()), *getattr(rule.counting, "ends", ()))
    for couple in own:
        yield couple.need, couple.of
    for code in rule.counting.items():
        item: FamilyItem | None = book.items.get(code)
        if item is not None:
            yield from ((one.need, one.of) for one in item.raises)
            if item.thread and rule.need == "enter cable":
                yield from _seats(item.thread, book)


def _seats(thread: str, book: Book) -> Iterable[tuple[str, str]]:
    for seat in book.seats:
        if seat.startswith(f"{thread} in "):
            yield "fit in hole", seat


def _circle(start: str, rests: dict[str, set[str]], placed: set[str]) -> list[str]:
    path = [start]
    while True:
        # Every rule left rests on one that is left too, so the walk must come round.
        following = min(name for name in rests[path[-1]] if name not in placed)
        if following in path:
            return [*path[path.index(following) :], following]
        path.append(following)
