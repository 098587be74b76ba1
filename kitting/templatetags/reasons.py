"""How the reasons of a kit's line are written on pages."""

from django import template

from kitting.models import KitLine
from kitting.plan.lines import Reason
from kitting.plan.telling import alike, sentence

register = template.Library()


@register.filter
def because(line: KitLine, title: str) -> list[str]:
    """Each reason of a line as a sentence. title: what the family calls the line's step."""
    reasons = [Reason(**reason) for reason in line.reasons]
    return [sentence({line.step: title}, line.unit, same) for same in alike(reasons)]
