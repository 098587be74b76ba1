"""What will stand at one address: a family, a job, the stacks and the answers about the site."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Final

from kitting.plan import outline
from kitting.plan.conditions import holds
from kitting.plan.errors import ConfigurationError, Fault
from kitting.plan.family import Family
from kitting.plan.reading import is_whole, shown
from kitting.plan.site import UNKNOWN, Scope, Site, Value
from kitting.plan.steps import JOBS

OWN_KEYS: Final = ("family", "job", "stacks", "before", "swap", "take_both")
WHERE: Final = "configuration"


@dataclass(frozen=True, slots=True)
class Configuration:
    """A configuration that its family understands; whether it is legal say the limits."""

    family: str
    job: str
    """new, expansion, swap or removal"""
    shape: tuple[int, ...]
    """Modules of each stack, first stack first."""
    revisions: tuple[tuple[str, ...], ...]
    """Of each stack's modules, "" for one not known; an empty row where they were not given."""
    answers: Mapping[str, Value]
    """Axis -> answer; None where the question does not arise."""
    before: "Configuration | None"
    """What stands there now; of an expansion only."""
    tall: Callable[[Scope], int] = field(compare=False, repr=False)
    """mm of a stack by the family's outlines."""
    swap: tuple[tuple[int, int], ...] = ()
    """(stack, level) of each unit that is replaced; of a swap only."""
    take_both: tuple[str, ...] = ()
    """Questions not answered yet that are released with the lines of each answer."""

    def site(self) -> Site:
        """The answers as rules read them."""
        return Site(self.shape, self.answers, self.job, self.tall)

    def as_json(self) -> dict[str, object]:
        """The same configuration as it was given."""
        stacks = []
        for modules, revisions in zip(self.shape, self.revisions, strict=True):
            held = {"revisions": list(revisions)} if revisions else {}
            stacks.append({"modules": modules, **held})
        given = {name: value for name, value in self.answers.items() if value is not None}
        told: dict[str, object] = {
            "family": self.family,
            "job": self.job,
            "stacks": stacks,
            **given,
        }
        if self.before is not None:
            before = self.before.as_json()
            told["before"] = {k: v for k, v in before.items() if k not in ("family", "job")}
        if self.swap:
            told["swap"] = [{"stack": stack, "level": level} for stack, level in self.swap]
        if self.take_both:
            told["take_both"] = list(self.take_both)
        return told


def parse(data: object, family: Family) -> Configuration:
    """A configuration from JSON data. Raises ConfigurationError with every fault."""
    faults: list[Fault] = []
    if not isinstance(data, dict):
        raise ConfigurationError([Fault(WHERE, "", f"expected an object, got {shown(data)}")])
    configuration = _read(data, family, faults)
    if faults:
        raise ConfigurationError(faults)
    return configuration


def so_far(
    family: Family, job: str, shape: tuple[int, ...], given: Mapping[str, Value]
) -> Configuration:
    """One of which only some questions are answered: to be drawn and held against limits, no
    more. A question without an answer counts as one that does not arise."""
    answers = {name: given.get(name) for name in family.axes}
    revisions: tuple[tuple[str, ...], ...] = tuple(() for _ in shape)
    return Configuration(family.name, job, shape, revisions, answers, None, _tall(family))


def _read(data: dict[str, object], family: Family, faults: list[Fault]) -> Configuration:
    if data.get("family") != family.name:
        _fault(faults, "family", repr(family.name), data.get("family"))
    job = data.get("job", "new")
    if job not in JOBS:
        _fault(faults, "job", f"one of {', '.join(JOBS)}", job)
    for key, value in data.items():
        if key not in OWN_KEYS and key not in family.axes:
            _fault(faults, ascii(key)[1:-1], "a question of the family", value)
    now = _one(data, str(job), family, faults)
    before = _before(data, job, now, family, faults)
    swap = _swap(data.get("swap"), str(job), now[0], faults)
    both = _take_both(data.get("take_both"), now[2], faults)
    return Configuration(family.name, str(job), *now, before, _tall(family), swap, both)


def _swap(
    given: object, job: str, shape: tuple[int, ...], faults: list[Fault]
) -> tuple[tuple[int, int], ...]:
    """The places whose unit is replaced, level as in the drawing: one past the modules the head."""
    if job != "swap":
        if given is not None:
            _fault(faults, "swap", "nothing but for a swap", given)
        return ()
    if not isinstance(given, list) or not given:
        _fault(faults, "swap", 'the places, as [{"stack": 1, "level": 2}]', given)
        return ()
    found = []
    for index, one in enumerate(given):
        stack, level = _place(one)
        if not 1 <= stack <= len(shape) or not 1 <= level <= shape[stack - 1] + 1:
            wanted = 'a place of the stacks, as {"stack": 1, "level": 2}'
            _fault(faults, f"swap[{index}]", wanted, one)
        found.append((stack, level))
    if len(set(found)) < len(found):
        _fault(faults, "swap", "each place once", given)
    return tuple(sorted(found))


def _place(given: object) -> tuple[int, int]:
    """Stack and level; (0, 0) for anything that is no place."""
    if isinstance(given, dict) and set(given) == {"stack", "level"}:
        stack, level = given["stack"], given["level"]
        if is_whole(stack) and is_whole(level):
            return stack, level
    return 0, 0


def _take_both(given: object, answers: Mapping[str, Value], faults: list[Fault]) -> tuple[str, ...]:
    """Questions that are not answered yet and travel with the lines of each answer."""
    if given is None:
        return ()
    if not isinstance(given, list) or not all(isinstance(one, str) for one in given):
        _fault(faults, "take_both", "names of questions", given)
        return ()
    for name in given:
        if answers.get(name) != UNKNOWN:
            _fault(faults, "take_both", f"questions answered {UNKNOWN!r}", name)
    return tuple(dict.fromkeys(given))


def _tall(family: Family) -> Callable[[Scope], int]:
    return partial(outline.height, family)


Stand = tuple[tuple[int, ...], tuple[tuple[str, ...], ...], dict[str, Value]]


def _one(data: dict[str, object], job: str, family: Family, faults: list[Fault]) -> Stand:
    shape, revisions = _stacks(data.get("stacks"), family, faults)
    return shape, revisions, _answers(data, shape, job, family, faults)


def _before(
    data: dict[str, object], job: object, now: Stand, family: Family, faults: list[Fault]
) -> Configuration | None:
    given = data.get("before")
    if job != "expansion":
        if given is not None:
            _fault(faults, "before", "nothing but for an expansion", given)
        return None
    if not isinstance(given, dict):
        _fault(faults, "before", "what stands there now, as {stacks: [...]}", given)
        return None
    for key in given:
        if key != "stacks" and key not in family.axes:
            _fault(faults, f"before.{ascii(key)[1:-1]}", "a question of the family", given[key])
    inner: list[Fault] = []
    shape, revisions = _stacks(given.get("stacks"), family, inner)
    same = {name: value for name, value in now[2].items() if value is not None}
    kept = asked(same, shape, family)
    answers = _answers({**kept, **given}, shape, "new", family, inner)
    faults += [Fault(WHERE, f"before.{fault.key}", fault.message) for fault in inner]
    return Configuration(family.name, "new", shape, revisions, answers, None, _tall(family))


def asked(given: Mapping[str, Value], shape: tuple[int, ...], family: Family) -> dict[str, Value]:
    """The answers of now that are also asked of what stands."""
    kept: dict[str, Value] = {}
    for name, axis in family.axes.items():
        if name in given and holds(axis.when, Site(shape, kept, "new")):
            kept[name] = given[name]
    return kept


def _stacks(
    given: object, family: Family, faults: list[Fault]
) -> tuple[tuple[int, ...], tuple[tuple[str, ...], ...]]:
    least, most = family.bounds.stacks
    if not isinstance(given, list) or not least <= len(given) <= most:
        _fault(faults, "stacks", f"a list of {least} to {most} stacks", given)
        return (family.bounds.modules[0],), ((),)
    read = [_stack(one, f"stacks[{i}]", family, faults) for i, one in enumerate(given)]
    return tuple(modules for modules, _ in read), tuple(held for _, held in read)


def _stack(
    given: object, key: str, family: Family, faults: list[Fault]
) -> tuple[int, tuple[str, ...]]:
    least, most = family.bounds.modules
    if not isinstance(given, dict) or not set(given) <= {"modules", "revisions"}:
        _fault(faults, key, '{"modules": n}, perhaps with revisions', given)
        return least, ()
    modules = given.get("modules")
    if not isinstance(modules, int) or not is_whole(modules) or not least <= modules <= most:
        _fault(faults, f"{key}.modules", f"a whole number from {least} to {most}", modules)
        return least, ()
    revisions = given.get("revisions", [])
    among = ("", *family.revisions)
    known = isinstance(revisions, list) and all(r in among for r in revisions)
    if not known or len(revisions) not in (0, modules):
        wanted = f"{modules} of {', '.join(family.revisions) or 'no revision'}"
        _fault(faults, f"{key}.revisions", wanted, revisions)
        return modules, ()
    return modules, tuple(revisions)


def _answers(
    data: Mapping[str, object],
    shape: tuple[int, ...],
    job: str,
    family: Family,
    faults: list[Fault],
) -> dict[str, Value]:
    answers: dict[str, Value] = {}
    wrong: set[str] = set()
    for name, axis in family.axes.items():
        value = data.get(name)
        if any(condition.name in wrong for condition in axis.when):
            # Whether this is asked hangs on an answer that is wrong itself: one fault is enough.
            wrong.add(name)
            continue
        asked = not axis.when or holds(axis.when, Site(shape, answers, job))
        if asked and not axis.accepts(value):
            wrong.add(name)
            _fault(faults, name, axis.wanted(), value)
        elif not asked and value is not None:
            _fault(faults, name, "nothing: the question does not arise here", value)
        answers[name] = value if asked and isinstance(value, int | str) else None
    return answers


def _fault(faults: list[Fault], key: str, wanted: str, got: object) -> None:
    faults.append(Fault(WHERE, key, f"expected {wanted}, got {shown(got)}"))
