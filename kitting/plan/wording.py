"""A kit in words for people: by the step that needs it, with why, and who decides."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from kitting.plan.counting.volume import cartridges
from kitting.plan.family import Family
from kitting.plan.given import quantity
from kitting.plan.kit import Kit
from kitting.plan.lines import Line
from kitting.plan.open_questions import Unresolved
from kitting.plan.tasks import said
from kitting.plan.telling import listed
from kitting.plan.why import Part, Why


def text(family: Family, kit: Kit) -> str:
    """The whole kit as plain text."""
    return "\n".join(_rows(family, kit)) + "\n"


def _rows(family: Family, kit: Kit) -> Iterator[str]:
    yield f"{family.title}, parts list of {kit.edition}"
    if kit.refused:
        yield "Refused:"
        yield from (f"  {refusal.rule}: {refusal.message}" for refusal in kit.refused)
        return
    for step in kit.steps:
        lines = [line for line in kit.lines if line.step == step.key]
        cautions = [caution for caution in kit.cautions if caution.step == step.key]
        told = [task for task in kit.tasks if task.step == step.key]
        if not (lines or cautions or told):
            continue
        yield f"\n{step.title}"
        yield from (f"  ! {c.words} Decides: {c.decides}." for c in cautions)
        yield from (f"  - {task}" for task in step.tasks)
        yield from (f"  - {said(task.words, task.place)}" for task in told)
        yield from _lines(family, lines)
    for question in kit.taken_both:
        yield from _question(family, question, "Taken both ways, the unused set comes back")
    for question in kit.unresolved:
        yield from _question(family, question)
    yield from _listed(family, "Comes back", kit.comes_back)
    yield from _listed(family, "Renewed, the old is thrown away", kit.renewed)
    for move in kit.moves:
        name = family.items[move.item].name
        yield f"Moves: {move.quantity} {name} from {move.from_place} to {move.to_place}"


def _lines(family: Family, lines: Sequence[Line]) -> Iterator[str]:
    for line in lines:
        yield f"  {amount(family, line)}  {line.name} ({line.item})"
        for reason, count in Counter(line.reasons).items():
            again = f" ({count} times)" if count > 1 else ""
            yield f"      for {reason.need}: {reason.arithmetic}{again} [{reason.rule}]"
        for other in line.alternatives:
            part = amount(family, replace(line, quantity=other.quantity, pieces=()))
            used = f"{part} of it" if other.quantity else "none of it"
            yield f"      if {other.question} is {other.answer}: {used} is used"


def _listed(family: Family, title: str, lines: Sequence[Line]) -> Iterator[str]:
    if lines:
        yield f"\n{title}"
        yield from _lines(family, lines)


def _question(family: Family, question: Unresolved, word: str = "Open") -> Iterator[str]:
    yield f"\n{word}: {question.question}"
    if question.needs:
        yield f"  hangs on it: {', '.join(question.needs)}"
    yield from (f"  to be answered before release: {limit}" for limit in question.first)
    for answer in question.answers:
        taken = ", ".join(f"{amount(family, line)} {line.name}" for line in answer.lines)
        why_not = "; ".join(answer.refused)
        yield f"  {answer.answer}: {f'not possible, {why_not}' if why_not else taken or 'nothing'}"


def amount(family: Family, line: Line) -> str:
    """A quantity as people count it: pieces, metres, millilitres with cartridges, square metres."""
    quantity = line.quantity
    match line.unit:
        case "mm":
            pieces = " + ".join(f"{piece / 1000:g} m" for piece in line.pieces)
            return pieces or f"{quantity / 1000:g} m"
        case "ul":
            whole = cartridges(quantity, family.items[line.item].pack)
            return f"{quantity / 1000:g} ml ({whole} to open)"
        case "mm2":
            return f"{quantity / 1_000_000:g} m2"
    return str(quantity)


def why_text(family: Family, why: Why) -> str:
    """Why a kit has so many of an item, or none, as plain text."""
    return "\n".join(_why_rows(family, why)) + "\n"


def _why_rows(family: Family, why: Why) -> Iterator[str]:
    yield f"{family.title}, parts list of {family.edition.isoformat()}"
    yield ""
    if not why.steps:
        yield why.answer
        yield from (f"  {words}" for words in why.missing)
        return
    yield f"{quantity(why.quantity, why.unit)} {why.name} ({why.item})"
    for step in why.steps:
        yield f"{step.title}: {quantity(step.quantity, why.unit)}"
        for part in step.parts:
            yield f"  {part.sentence}"
            yield from (f"      {words}" for words in _beside(part))
        if step.sum:
            yield f"  {step.sum}"
        for other in step.alternatives:
            taken = quantity(other.quantity, why.unit)
            yield f"  of it {taken} only if {other.question} is {other.answer}"
    if why.sum:
        yield f"Together: {why.sum}"
    for box in why.boxes:
        yield f"In a box: {quantity(box.quantity, why.unit)} come in the box of {box.name}"
    for parent in why.every_parent():
        yield f"And {parent.answer}"


def _beside(part: Part) -> Iterator[str]:
    """What stands beside a reason: source, and the answers its rule rests on."""
    if part.source:
        yield f"counted by {part.way.replace('_', ' ')}; {part.source}"
    held = [f"{answer.question} {answer.answer}".strip() for answer in part.rests_on]
    if held:
        yield f"the rule holds because: {listed(held)}"
