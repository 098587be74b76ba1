"""The key that makes a form act once."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ledger.ids import uuid7
from inventory.once import KEY

register = template.Library()


@register.simple_tag
def once() -> SafeString:
    """A hidden field with a fresh key: see inventory/once.py."""
    return format_html('<input type="hidden" name="{}" value="{}">', KEY, uuid7())
