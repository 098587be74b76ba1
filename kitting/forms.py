"""Planning a job: where, when, who, and the questions that the family asks about the site."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from inventory.listed import ListedField
from inventory.models import Person, Place, Role
from inventory.overviews import our_vans
from inventory.plain_forms import PlainForm
from kitting.models import JobKind, Site
from kitting.plan.axes import Axis
from kitting.plan.conditions import holds
from kitting.plan.family import Family
from kitting.plan.site import Site as Answers
from kitting.plan.site import UnknownInput
from kitting.questions import (
    FEW,
    StackCounts,
    base_units,
    few,
    field_of,
    joined,
    listed,
    modules_of,
)

PREFIX = "about_"  # of the fields that ask about the site
DATE = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
EARLIEST, LATEST = dt.date(2000, 1, 1), dt.date(2099, 12, 31)  # beyond: a slip of a key


def year_slip(day: dt.date) -> None:
    """Raise ValidationError for the day of a job that only a mistyped year explains."""
    if not EARLIEST <= day <= LATEST:
        raise forms.ValidationError(f"expected a day from {EARLIEST} to {LATEST}, got {day}")


HOUR = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
COUNTS = ("stacks", "before")


@dataclass(frozen=True, slots=True)
class Slot:
    """The place of one question on the page, asked or not."""

    axis: Axis
    field: forms.BoundField | None  # None: it does not arise now
    kept: str  # what was answered before it ceased to arise

    @property
    def name(self) -> str:
        """Of the field."""
        return f"{PREFIX}{self.axis.name}"


class VisitForm(PlainForm):
    """When, with which van and by whom: what may change after a job is planned."""

    date = forms.DateField(label="Day", widget=DATE, validators=[year_slip])
    leaves_at = forms.TimeField(label="The van leaves at", widget=HOUR, required=False)
    van = forms.ModelChoiceField(Place.objects.none(), label="Van", required=False)
    crew = forms.ModelMultipleChoiceField(
        Person.objects.none(), label="Crew", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        vans = our_vans(also=self.initial.get("van"))
        few_vans = vans.count() < FEW
        self.fields["van"] = forms.ModelChoiceField(
            vans,
            label="Van",
            required=False,
            empty_label="No van yet",
            widget=forms.RadioSelect if few_vans else forms.Select,
            blank=True,
        )
        crew = Person.objects.filter(is_active=True, roles__icontains=Role.TECHNICIAN)
        self.fields["crew"].queryset = crew.order_by("name")  # type: ignore[attr-defined]


class JobForm(VisitForm):
    """One visit. Without a family only the first questions are asked.

    initial: field name -> what it shows at first, as text; the family's questions are
    "about_<axis>", stacks and before are "4, 4", crew a list of ids.
    """

    site = ListedField(
        Site.objects.select_related("place"),
        code="place__code",
        label="Site",
        required=False,
        empty_label="A new site, named below",
    )
    site_name = forms.CharField(label="Name of a new site", max_length=120, required=False)
    address = forms.CharField(label="Its address", max_length=300, required=False)
    family = forms.ChoiceField(label="Stack system")
    job = forms.ChoiceField(
        label="Kind of job", choices=JobKind.choices, widget=forms.RadioSelect, initial=JobKind.NEW
    )
    stacks = forms.CharField(label="Modules in each stack", max_length=100, widget=StackCounts)
    before = forms.CharField(
        label="Modules that stand there now", max_length=100, required=False, widget=StackCounts
    )
    field_order = ("site", "site_name", "address", "date", "leaves_at", "van", "crew")

    def __init__(
        self,
        families: Mapping[str, Family],
        data: Any = None,
        **kwargs: Any,
    ) -> None:
        """families: name -> family, those that may be planned."""
        super().__init__(data, **kwargs)
        self.families = families
        self.held = begun(data) if data is not None else dict(self.initial)
        choices = [(f.name, f.title) for f in families.values()]
        few(self.fields["family"], choices)  # type: ignore[arg-type]
        for axis in self.asked():
            self.fields[f"{PREFIX}{axis.name}"] = field_of(axis)

    def raw(self, name: str) -> str:
        """What the form shows for a field now, whether sent or only begun."""
        return str(self.held.get(name) or "")

    @property
    def at(self) -> Site | None:
        """The site that is chosen or typed, as far as that means one yet."""
        return site_of(self.raw("site"))

    @property
    def chosen(self) -> Family | None:
        """The family that is chosen now."""
        return self.families.get(self.raw("family"))

    @property
    def kind(self) -> str:
        """The kind of job that is chosen now."""
        return self.raw("job") or JobKind.NEW

    def asked(self) -> list[Axis]:
        """The family's questions that arise from the answers so far, in its order."""
        shape = modules_of(self.raw("stacks")) or [1]
        answers: dict[str, int | str | None] = {}
        found = []
        for axis in self.chosen.axes.values() if self.chosen else ():
            try:
                arises = holds(axis.when, Answers(tuple(shape), answers, self.kind))
            except UnknownInput:
                arises = False
            if arises:
                found.append(axis)
                answers[axis.name] = base_units(axis, self.raw(f"{PREFIX}{axis.name}"))
        return found

    def first_fields(self) -> list[forms.BoundField]:
        """Where, when, who."""
        return [self[name] for name in self.field_order]

    def slots(self) -> list[Slot]:
        """A place for each question of the family, in its order, asked now or not."""
        found = []
        for axis in self.chosen.axes.values() if self.chosen else ():
            name = f"{PREFIX}{axis.name}"
            found.append(Slot(axis, self[name] if name in self.fields else None, self.raw(name)))
        return found

    def clean(self) -> dict[str, Any]:
        """A site is chosen or named; stacks are numbers."""
        cleaned: dict[str, Any] = super().clean() or {}
        if not cleaned.get("site") and not cleaned.get("site_name"):
            self.add_error("site_name", "Site: expected one of the list or a name, got nothing")
        for name in COUNTS:
            text = cleaned.get(name) or ""
            if text and not modules_of(text):
                label = self.fields[name].label
                self.add_error(name, f"{label}: expected numbers as 4, 4, got {text[:40]!r}")
        if self.kind == JobKind.EXPANSION and not cleaned.get("before"):
            label = self.fields["before"].label
            self.add_error("before", f"{label}: expected numbers as 4, 4, got nothing")
        return cleaned

    def configuration(self) -> dict[str, Any]:
        """What the engine is asked (see kitting/plan/README.md), from a valid form."""
        given = self.cleaned_data
        answers = {
            name.removeprefix(PREFIX): value
            for name, value in given.items()
            if name.startswith(PREFIX) and value != ""
        }
        return self._configuration(given["stacks"], given["before"], answers)

    def answered(self) -> dict[str, Any]:
        """The same from what is answered and understood so far; the rest is left out."""
        answers = {}
        for axis in self.asked():
            value = base_units(axis, self.raw(f"{PREFIX}{axis.name}"))
            if value is not None and axis.accepts(value):
                answers[axis.name] = value
        return self._configuration(self.raw("stacks"), self.raw("before"), answers)

    def _configuration(self, stacks: str, before: str, answers: dict[str, Any]) -> dict[str, Any]:
        asked: dict[str, Any] = {
            "family": self.raw("family"),
            "job": self.kind,
            "stacks": [{"modules": n} for n in modules_of(stacks)],
            **answers,
        }
        if self.kind == JobKind.EXPANSION:
            asked["before"] = {"stacks": [{"modules": n} for n in modules_of(before)]}
        return asked


def begun(data: Any) -> dict[str, Any]:
    """What a browser sent, as a form's `initial` has it."""
    held: dict[str, Any] = {name: data[name] for name in data}
    if "crew" in held:
        held["crew"] = listed(data, "crew")
    held |= {name: joined(data, name) for name in COUNTS if name in held}
    about = (name for name in held if name.startswith(PREFIX))
    return held | {name: _answer(listed(data, name)) for name in about}


def _answer(sent: list[str]) -> str:
    """A box and its tick bear one name: the tick counts."""
    return "unknown" if "unknown" in sent else next(iter(sent), "")


def site_of(text: str) -> Site | None:
    """Return the site that a sent code or a typed text means."""
    found: Site | None = JobForm.base_fields["site"].meant(text)  # type: ignore[attr-defined]
    return found
