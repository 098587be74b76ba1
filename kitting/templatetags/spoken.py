"""What code puts together, said on a page in the language of the page."""

from django import template

from kitting.speaking import told

register = template.Library()

register.filter("told", told)


@register.filter
def told_each(words: str) -> str:
    """A list in one line, each of its parts by itself: "5 needed, 1 fitted"."""
    return ", ".join(_told(part) for part in words.split(", "))


def _told(part: str) -> str:
    count, _, word = part.partition(" ")
    return f"{count} {told(word)}" if count.isdigit() else told(part)
