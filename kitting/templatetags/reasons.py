"""How the reasons of a kit's line are written on pages."""

from django import template

from kitting import families, questions
from kitting.models import Kit, KitLine
from kitting.plan.lines import Alternative, Reason
from kitting.plan.telling import alike, sentence
from kitting.speaking import told_why

register = template.Library()


@register.filter
def because(line: KitLine, title: str) -> list[str]:
    """Each reason of a line as a sentence. title: what the family calls the line's step."""
    reasons = [Reason(**reason) for reason in line.reasons]
    return [sentence({line.step: title}, line.unit, same, told_why) for same in alike(reasons)]


@register.filter
def sums(arithmetic: str) -> str:
    """What a reason is put together from, part by part."""
    return "; ".join(map(told_why, arithmetic.split("; ")))


@register.filter
def only_if(line: KitLine, kit: Kit) -> list[str]:
    """Which answer to an open question takes how much of a line."""
    return questions.only_if(line, families.family_of(kit.edition).axes)


@register.filter
def answer_of(other: Alternative, kit: Kit) -> str:
    """An answer to an open question in the units of people."""
    return questions.answered(families.family_of(kit.edition).axes[other.question], other.answer)
