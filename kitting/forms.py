"""Planning a job: where, when, who, and the questions that the family asks about the site."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.models import Person, Place, PlaceKind, Role
from inventory.plain_forms import PlainForm
from kitting.models import JobKind, Site
from kitting.plan.axes import Axis
from kitting.plan.conditions import holds
from kitting.plan.family import Family
from kitting.plan.site import UNKNOWN, UnknownInput
from kitting.plan.site import Site as Answers

UNIT = re.compile(r"\s*\((?:tenths of )?mm\)")
PREFIX = "about_"  # of the fields that ask about the site
DATE = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
HOUR = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")


class MeasureField(forms.CharField):
    """A whole number, mm, or a diameter in mm with one decimal; "unknown" where allowed."""

    def __init__(self, axis: Axis, **kwargs: Any) -> None:  # as Django has it
        super().__init__(**kwargs)
        self.axis = axis

    def clean(self, value: Any) -> int | str:  # as Django has it
        """Return base units, or "unknown"."""
        text = str(super().clean(value))
        answer = base_units(self.axis, text)
        if answer is None or not self.axis.accepts(answer):
            raise ValidationError(f"{self.label}: expected {wanted(self.axis)}, got {text[:40]!r}")
        return answer


class JobForm(PlainForm):
    """One visit. Without a family only the first questions are asked."""

    site = forms.ModelChoiceField(
        Site.objects.none(), label="Site", required=False, empty_label="A new site, named below"
    )
    site_name = forms.CharField(label="Name of a new site", max_length=120, required=False)
    address = forms.CharField(label="Its address", max_length=300, required=False)
    date = forms.DateField(label="Day", widget=DATE)
    leaves_at = forms.TimeField(label="The van leaves at", widget=HOUR, required=False)
    van = forms.ModelChoiceField(
        Place.objects.none(), label="Van", required=False, empty_label="No van yet"
    )
    crew = forms.ModelMultipleChoiceField(
        Person.objects.none(), label="Crew", required=False, widget=forms.CheckboxSelectMultiple
    )
    family = forms.ChoiceField(label="Stack system")
    job = forms.ChoiceField(label="Kind of job", choices=JobKind.choices)
    stacks = forms.CharField(
        label="Modules in each stack", max_length=100, help_text="From the first: 4, 4"
    )
    before = forms.CharField(
        label="Modules that stand there now",
        max_length=100,
        required=False,
        help_text="Only for an expansion: 3, 4",
    )

    def __init__(
        self,
        families: Mapping[str, Family],
        data: Any = None,
        **kwargs: Any,
    ) -> None:
        """families: name -> family, those that may be planned."""
        super().__init__(data, **kwargs)
        self.families = families
        self.fields["site"].queryset = Site.objects.select_related("place")  # type: ignore[attr-defined]
        vans = Place.objects.filter(kind=PlaceKind.VAN).order_by("name")
        self.fields["van"].queryset = vans  # type: ignore[attr-defined]
        crew = Person.objects.filter(is_active=True, roles__icontains=Role.TECHNICIAN)
        self.fields["crew"].queryset = crew.order_by("name")  # type: ignore[attr-defined]
        choices = [("", "Choose"), *((f.name, f.title) for f in families.values())]
        self.fields["family"].choices = choices  # type: ignore[attr-defined]
        for axis in self.asked():
            self.fields[f"{PREFIX}{axis.name}"] = field_of(axis)

    def raw(self, name: str) -> str:
        """What the form shows for a field now, whether sent or only begun."""
        source = self.data if self.is_bound else self.initial
        return str(source.get(name) or "")

    def asked(self) -> list[Axis]:
        """The family's questions that arise from the answers so far, in its order."""
        family = self.families.get(self.raw("family"))
        shape = modules_of(self.raw("stacks")) or [1]
        if family is None:
            return []
        answers: dict[str, int | str | None] = {}
        found = []
        for axis in family.axes.values():
            try:
                arises = holds(axis.when, Answers(tuple(shape), answers, self.raw("job") or "new"))
            except UnknownInput:
                arises = False
            if arises:
                found.append(axis)
                answers[axis.name] = base_units(axis, self.raw(f"{PREFIX}{axis.name}"))
        return found

    def first_fields(self) -> list[forms.BoundField]:
        """Where, when, who."""
        names = ("site", "site_name", "address", "date", "leaves_at", "van", "crew")
        return [self[name] for name in names]

    def stack_fields(self) -> list[forms.BoundField]:
        """What stands there."""
        expands = self.raw("job") == JobKind.EXPANSION
        names = ("family", "job", "stacks", "before") if expands else ("family", "job", "stacks")
        return [self[name] for name in names]

    def site_fields(self) -> list[forms.BoundField]:
        """The family's questions."""
        return [self[name] for name in self.fields if name.startswith(PREFIX)]

    def clean(self) -> dict[str, Any]:
        """A site is chosen or named; stacks are numbers."""
        cleaned: dict[str, Any] = super().clean() or {}
        if not cleaned.get("site") and not cleaned.get("site_name"):
            self.add_error("site_name", "Site: expected one of the list or a name, got nothing")
        for name in ("stacks", "before"):
            text = cleaned.get(name) or ""
            if text and not modules_of(text):
                label = self.fields[name].label
                self.add_error(name, f"{label}: expected numbers as 4, 4, got {text[:40]!r}")
        return cleaned

    def configuration(self) -> dict[str, Any]:
        """What the engine is asked (see kitting/plan/README.md), from a valid form."""
        given = self.cleaned_data
        answers = {
            name.removeprefix(PREFIX): value
            for name, value in given.items()
            if name.startswith(PREFIX) and value != ""
        }
        asked: dict[str, Any] = {
            "family": given["family"],
            "job": given["job"],
            "stacks": [{"modules": n} for n in modules_of(given["stacks"])],
            **answers,
        }
        if given["job"] == JobKind.EXPANSION:
            asked["before"] = {"stacks": [{"modules": n} for n in modules_of(given["before"])]}
        return asked


def modules_of(text: str) -> list[int]:
    """Return the numbers of "4, 4"; an empty list for anything else."""
    parts = [part for part in re.split(r"[,;+\s]+", text.strip()) if part]
    good = all(part.isascii() and part.isdigit() and len(part) < 4 for part in parts)
    return [int(part) for part in parts] if good else []


def base_units(axis: Axis, text: str) -> int | str | None:
    """Return an answer as the engine takes it: mm, tenths of mm, a word; None for neither."""
    if axis.kind == "choice" or text == UNKNOWN:
        return text or None
    try:
        number = Decimal(text.replace(",", ".")) * (10 if axis.kind == "diameter" else 1)
    except InvalidOperation:
        return None
    return int(number) if number.is_finite() and number == number.to_integral_value() else None


def wanted(axis: Axis) -> str:
    """Say what answers a question, in the units of the page."""
    if axis.kind != "diameter":
        return axis.wanted()
    told = f"mm from {axis.low / 10:g} to {axis.high / 10:g} with one decimal"
    return f"{told} or {UNKNOWN}" if axis.unknown else told


def field_of(axis: Axis) -> forms.Field:
    """Return the field that asks a question of the family."""
    question = UNIT.sub("", axis.question)  # the help beside the field says the unit asked here
    if axis.kind == "choice":
        choices = [("", "Choose"), *((value, value) for value in axis.values)]
        if axis.unknown:
            choices.append((UNKNOWN, "not known yet"))
        return forms.ChoiceField(label=question, choices=choices)
    return MeasureField(axis, label=question, max_length=20, help_text=wanted(axis))
