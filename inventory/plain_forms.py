"""Forms that say what was expected and what came, field by field."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import ErrorList

from inventory import typed_numbers
from inventory.incoming.errors import TwoWays, Wrong

# Error code of Django -> our words; {kind} says what the field holds, {got} what came.
WORDS = {
    "required": "expected {kind}, got nothing",
    "invalid": "expected {kind}, got {got}",
    "two_ways": "expected a number that can be read one way, got {got}: write {ways}",
    "invalid_choice": "expected one of the list, got {got}",
    "invalid_list": "expected some of the list, got {got}",
    "min_value": "expected at least {limit_value}, got {got}",
    "max_value": "expected at most {limit_value}, got {got}",
    "max_length": "expected at most {limit_value} characters, got {show_value}",
    "unique": "expected one that is not taken, got {got}",
    "null_characters_not_allowed": "expected text without control characters, got {got}",
}
BREAKS = re.compile("[\t\n\r\v\f\x85\u2028\u2029]+")
CONTROL = re.compile("[\x00-\x03\x05-\x1b\x7f-\x9f]")
KINDS: tuple[tuple[type[forms.Field], str], ...] = (
    (forms.FloatField, "a number"),
    (forms.IntegerField, "a whole number"),
    (forms.DateTimeField, "a date and hour"),
    (forms.DateField, "a date"),
    (forms.FileField, "a file"),
    (forms.ChoiceField, "one of the list"),
    (forms.ModelChoiceField, "one of the list"),
    (forms.CharField, "some text"),
)


class Typed(forms.Field):
    """Mix in first: a number as inventory/typed_numbers.py reads it."""

    keys = "decimal"  # which keys a phone shows

    def __init__(self, **kwargs: Any) -> None:
        """kwargs: as Django's field; below nothing, no keys without a minus."""
        least = kwargs.get("min_value")
        keys = {} if least is not None and least < 0 else {"inputmode": self.keys}
        kwargs.setdefault("widget", forms.TextInput({"autocomplete": "off", **keys}))
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> Any:
        """Read what was typed before Django sees it."""
        return super().to_python(_plain_number(value))


class NumberField(Typed, forms.FloatField):
    """Any number."""


class WholeField(Typed, forms.IntegerField):
    """A whole number."""

    keys = "numeric"


def _plain_number(value: Any) -> Any:
    """Return "1250.5" of "1.250,5"; what is no text stays."""
    if not isinstance(value, str) or not value.strip():
        return value
    try:
        return f"{typed_numbers.number(value):f}"
    except TwoWays as two:
        raise ValidationError("", code="two_ways", params={"ways": two.ways}) from None
    except Wrong:
        raise ValidationError("", code="invalid") from None


class PlainErrors(forms.BaseForm):
    """Mix in first: puts each field's errors into "expected X, got Y"."""

    def full_clean(self) -> None:
        """Validate, then put the errors into words."""
        super().full_clean()
        for name in [name for name in self.errors if name in self.fields]:
            words = [self._words(name, error) for error in self.errors[name].as_data()]
            self.errors[name] = ErrorList(words, renderer=self.renderer)

    def clean(self) -> dict[str, Any]:
        """A text of one line has blanks between its words, whatever a copied table put there.

        Other controls are refused, those apart that stand in scanned codes (ISO/IEC 15434, GS1).
        """
        cleaned: dict[str, Any] = super().clean() or {}
        for name in [name for name in cleaned if type(self.fields[name].widget) is forms.TextInput]:
            if isinstance(cleaned[name], str):
                cleaned[name] = BREAKS.sub(" ", cleaned[name])
                if CONTROL.search(cleaned[name]):
                    self.add_error(name, ValidationError("", code="null_characters_not_allowed"))
        return cleaned

    def _words(self, name: str, error: ValidationError) -> str:
        field = self.fields[name]
        pattern = WORDS.get(error.code or "")
        if pattern is None:
            return " ".join(error.messages)
        kind = next((words for cls, words in KINDS if isinstance(field, cls)), "a value")
        values: dict[str, Any] = {"kind": kind, "got": self._got(name), **(error.params or {})}
        return f"{field.label or name}: {pattern.format(**values)}"

    def _got(self, name: str) -> str:
        if isinstance(self.fields[name].widget, forms.PasswordInput):
            return "what is not shown here"
        raw = self.fields[name].widget.value_from_datadict(
            self.data, self.files, self.add_prefix(name)
        )
        return repr(str(raw)[:60]) if raw not in (None, "") else "nothing"


class PlainForm(PlainErrors, forms.Form):
    """A form of plain fields."""


class PlainModelForm(PlainErrors, forms.ModelForm):  # type: ignore[type-arg]  # each form names its model
    """A form of a model's fields."""
