"""The family's questions as fields of a form: choices, lengths, diameters, counted stacks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy

from inventory import typed_numbers
from inventory.incoming.errors import TwoWays, Wrong
from inventory.words import measure
from kitting.models import KitLine
from kitting.plan.axes import Axis
from kitting.plan.site import UNKNOWN

MM = {"mm": 1, "cm": 10, "m": 1000}
FEW = 6  # choices up to here stand beside one another, more fold into a list
METRE = 1000  # mm; from here on lengths are said in m
NOT_YET = "not known yet"


class StackCounts(forms.Widget):
    """Modules of each stack, one box a stack with + and -; sent as one name many times."""

    template_name = "kitting/parts/stack_counts.html"

    def format_value(self, value: Any) -> str:  # as Django has it
        """Return "4, 4"."""
        return str(value or "")

    def value_from_datadict(self, data: Any, files: Any, name: str) -> str:
        """Return "4, 4", however the boxes were sent."""
        return joined(data, name)

    def get_context(self, name: str, value: Any, attrs: Any) -> dict[str, Any]:
        """Hand one box a stack to the template; what is no number stays in one box as typed."""
        context: dict[str, Any] = super().get_context(name, value, attrs)
        text = self.format_value(value)
        counts: list[int | str] = [*modules_of(text)] or [text]
        context["widget"]["counts"] = counts
        return context


class MeasureInput(forms.TextInput):
    """A box for a number; where the family allows, a tick for "not known yet" beside it."""

    template_name = "kitting/parts/measure.html"

    def __init__(self, axis: Axis) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off"})
        self.axis = axis

    def value_from_datadict(self, data: Any, files: Any, name: str) -> str:
        """Return what was typed, or "unknown" where that is ticked."""
        sent = listed(data, name)
        return UNKNOWN if UNKNOWN in sent else next(iter(sent), "")

    def get_context(self, name: str, value: Any, attrs: Any) -> dict[str, Any]:
        """Tell the template whether the tick is there and set."""
        ticked = value == UNKNOWN
        context: dict[str, Any] = super().get_context(name, "" if ticked else value, attrs)
        context["widget"] |= {"unknown": self.axis.unknown, "ticked": ticked, "says": NOT_YET}
        return context


class MeasureField(forms.CharField):
    """A length as "4200" or "4.2 m", a diameter in mm, a number; "unknown" where allowed."""

    def __init__(self, axis: Axis, **kwargs: Any) -> None:  # as Django has it
        super().__init__(widget=MeasureInput(axis), **kwargs)
        self.axis = axis

    def clean(self, value: Any) -> int | str:  # as Django has it
        """Return base units, or "unknown"."""
        text = str(super().clean(value))
        answer = base_units(self.axis, text)
        if answer is None or not self.axis.accepts(answer):
            raise ValidationError(f"{self.label}: {refusal(self.axis, text)}")
        return answer


def listed(data: Any, name: str) -> list[str]:
    """All that was sent under a name, from what a browser sends or a plain mapping."""
    found = data.getlist(name) if hasattr(data, "getlist") else [data[name]] if name in data else []
    return [str(one) for one in found]


def joined(data: Any, name: str) -> str:
    """The boxes of one name as "4, 4"."""
    return ", ".join(one for one in listed(data, name) if one.strip())


def modules_of(text: str) -> list[int]:
    """Return the numbers of "4, 4"; an empty list for anything else."""
    parts = [part for part in re.split(r"[,;+\s]+", text.strip()) if part]
    good = all(part.isascii() and part.isdigit() and len(part) < 4 for part in parts)
    return [int(part) for part in parts] if good else []


def base_units(axis: Axis, text: str) -> int | str | None:
    """Return an answer as the engine takes it: mm, tenths of mm, a word; None for neither.

    A length with a decimal mark and no unit is in metres: whole mm are the finest that is asked.
    """
    if axis.kind == "choice" or text == UNKNOWN:
        return text or None
    figure, unit = typed_numbers.parts(text)
    if unit and (axis.kind == "whole" or unit not in MM):
        return None
    try:
        number = typed_numbers.number(figure)
    except TwoWays as two:
        if axis.kind != "length" or unit:
            return None
        number, unit = two.readings[0], "mm"  # 4,000 is 4000 mm or 4 m, which is the same
    except Wrong:
        return None
    if axis.kind == "length":
        number *= MM[unit or ("m" if set(figure) & set(".,") else "mm")]
    elif axis.kind == "diameter":
        number *= 10 * MM[unit or "mm"]
    return int(number) if number >= 0 and number == number.to_integral_value() else None


def said(axis: Axis, value: int) -> str:
    """Say a value of an axis as people do: 23800 mm is "23.8 m", 125 tenths are "12.5 mm"."""
    if axis.kind == "diameter":
        return f"{value / 10:g} mm"
    if axis.kind == "length":
        return measure(value, "mm") if abs(value) >= METRE else f"{value} mm"
    return str(value)


def answered(axis: Axis, answer: str) -> str:
    """Say an answer as a kit keeps it; of older kits "71 to 120" tenths are "7.1 mm to 12 mm"."""
    ends = answer.split(" to ")
    if not all(end.lstrip("-").isdigit() for end in ends):
        return answer
    return " to ".join(said(axis, int(end)) for end in ends)


def only_if(line: KitLine, axes: Mapping[str, Axis]) -> list[str]:
    """Say which answer to an open question takes how much of a line: "1 only if it is 8 mm".

    Nothing where every answer takes the same.
    """
    if not line.undecided:
        return []
    return [
        f"{measure(other['quantity'], line.unit)} only if it is"
        f" {answered(axes[other['question']], other['answer'])}"
        for other in line.alternatives
        if other["quantity"]
    ]


def wanted(axis: Axis) -> str:
    """Say what answers a question, in the units of the page."""
    if axis.kind == "choice":
        return axis.wanted()
    told = f"{said(axis, axis.low)} to {said(axis, axis.high)}"
    return f"{told}, or {NOT_YET}" if axis.unknown else told


def refusal(axis: Axis, text: str) -> str:
    """Say why a text is no answer."""
    return f"expected {wanted(axis)}, got {text[:40]!r}{typed_numbers.doubt(text)}"


def field_of(axis: Axis) -> forms.Field:
    """Return the field that asks a question of the family."""
    question = axis.plain
    if axis.kind != "choice":
        long = axis.kind == "length" and axis.high >= METRE
        example = ", as 4200 or 4.2 m" if long else ""
        told = wanted(axis) + example
        return MeasureField(axis, label=question, max_length=20, help_text=told)
    unit = " mm" if "(mm)" in axis.question else ""
    choices = [(value, value + unit) for value in axis.values]
    if axis.unknown:
        choices.append((UNKNOWN, NOT_YET))
    return few(forms.ChoiceField(label=question), choices)


def few(field: forms.ChoiceField, choices: list[tuple[str, str]]) -> forms.ChoiceField:
    """Let few choices stand beside one another as large buttons; more fold into a list."""
    if len(choices) <= FEW:
        field.widget = forms.RadioSelect()
        field.choices = choices
    else:
        field.choices = [("", gettext_lazy("Choose")), *choices]
    return field


def turned(counts: Mapping[str, str], turn: str) -> dict[str, str]:
    """Carry out a + or - that came as a press: "stacks 1 +", "stacks add", "stacks drop".

    Anything else leaves the counts as they are. At least one stack of one module remains.
    """
    name, _, act = turn.partition(" ")
    held = modules_of(counts.get(name, "")) if name in counts else []
    number, _, sign = act.partition(" ")
    if act == "add":
        held = [*held, held[-1] if held else 1]
    elif act == "drop" and len(held) > 1:
        held = held[:-1]
    elif number.isdecimal() and 0 < int(number) <= len(held) and sign in ("+", "-"):
        at = int(number) - 1
        held[at] = max(held[at] + (1 if sign == "+" else -1), 1)
    return {**counts, name: ", ".join(map(str, held))} if held else dict(counts)
