"""Forms about what stands or shall stand: the answers of a kit changed, a stack others fitted, a
visit to what stands, a line changed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from inventory.models import Item, Person, Place, PlaceKind, Role
from inventory.plain_forms import PlainForm
from kitting.forms import PREFIX
from kitting.models import AsBuilt, HandLine, Job
from kitting.plan.axes import Axis
from kitting.plan.conditions import holds
from kitting.plan.configuration import OWN_KEYS
from kitting.plan.family import Family
from kitting.plan.site import Site as Answers
from kitting.plan.site import UnknownInput
from kitting.questions import base_units, field_of, modules_of

DATE = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def shown(axis: Axis, value: Any) -> str:
    """Return an answer of a configuration as it is typed."""
    tenths = axis.kind == "diameter" and isinstance(value, int)
    return f"{value / 10:g}" if tenths else str(value)


def typed(configuration: Mapping[str, Any], family: Family) -> dict[str, str]:
    """Return a configuration as the fields of `AnswersForm` show it."""
    stacks = ", ".join(str(stack["modules"]) for stack in configuration["stacks"])
    answers = {
        f"{PREFIX}{name}": shown(family.axes[name], value)
        for name, value in configuration.items()
        if name in family.axes
    }
    return {"stacks": stacks, **answers}


class AnswersForm(PlainForm):
    """The stacks and the family's questions, with what was answered before filled in."""

    stacks = forms.CharField(
        label="Modules in each stack", max_length=100, help_text="From the first: 4, 4"
    )

    def __init__(
        self, family: Family, data: Any = None, *, job: str = "new", fixed: bool = False, **kw: Any
    ) -> None:
        """job: kind of the job; fixed: the stacks stay as they are (a technician on the site)."""
        super().__init__(data, **kw)
        self.family, self.job = family, job
        if fixed:
            self.fields["stacks"].widget = forms.HiddenInput()
        for axis in self._asked():
            self.fields[f"{PREFIX}{axis.name}"] = field_of(axis)

    def _raw(self, name: str) -> str:
        source = self.data if self.is_bound else self.initial
        return str(source.get(name) or self.initial.get(name) or "")

    def _asked(self) -> list[Axis]:
        """The questions that arise from the answers so far."""
        shape = tuple(modules_of(self._raw("stacks")) or [1])
        answers: dict[str, int | str | None] = {}
        found = []
        for axis in self.family.axes.values():
            try:
                arises = holds(axis.when, Answers(shape, answers, self.job))
            except UnknownInput:
                arises = False
            if arises:
                found.append(axis)
                answers[axis.name] = base_units(axis, self._raw(f"{PREFIX}{axis.name}"))
        return found

    def clean_stacks(self) -> str:
        """Numbers as 4, 4."""
        text = str(self.cleaned_data["stacks"])
        if not modules_of(text):
            raise forms.ValidationError(
                f"Modules in each stack: expected numbers as 4, 4, got {text[:40]!r}"
            )
        return text

    def configuration(self, kept: Mapping[str, Any]) -> dict[str, Any]:
        """Return what the engine is asked. kept: the configuration whose own keys stay."""
        given = self.cleaned_data
        own = {name: kept[name] for name in OWN_KEYS if name in kept}
        counts = modules_of(given["stacks"])
        if counts != [stack["modules"] for stack in kept.get("stacks", ())]:
            own["stacks"] = [{"modules": count} for count in counts]
        answers = {
            name.removeprefix(PREFIX): value
            for name, value in given.items()
            if name.startswith(PREFIX) and value != ""
        }
        unknown = [axis for axis in own.get("take_both", ()) if answers.get(axis) == "unknown"]
        own.pop("take_both", None)
        return {**own, **answers, **({"take_both": unknown} if unknown else {})}


class ReasonForm(AnswersForm):
    """Answers that change a kit which is out already, and why."""

    reason = forms.CharField(label="Why", max_length=150, required=False)


class FamilyForm(PlainForm):
    """Which stack system stands at a site."""

    family = forms.ChoiceField(label="Stack system")

    def __init__(self, families: Mapping[str, Family], data: Any = None, **kw: Any) -> None:
        super().__init__(data, **kw)
        choices = [("", "Choose"), *((one.name, one.title) for one in families.values())]
        self.fields["family"].choices = choices  # type: ignore[attr-defined]


class SiteForm(PlainForm):
    """A new site."""

    name = forms.CharField(label="Name", max_length=120)
    address = forms.CharField(label="Address", max_length=300)


class StartForm(PlainForm):
    """A visit to what stands: when, which van, who; of a swap, which places."""

    date = forms.DateField(label="Day", widget=DATE)
    van = forms.ModelChoiceField(
        Place.objects.none(), label="Van", required=False, empty_label="No van yet"
    )
    crew = forms.ModelMultipleChoiceField(
        Person.objects.none(), label="Crew", required=False, widget=forms.CheckboxSelectMultiple
    )
    places = forms.MultipleChoiceField(
        label="What is swapped", widget=forms.CheckboxSelectMultiple, required=True
    )

    def __init__(self, rows: list[AsBuilt] | None, data: Any = None, **kw: Any) -> None:
        """rows: what stands and can be swapped; None where nothing is."""
        super().__init__(data, **kw)
        vans = Place.objects.filter(kind=PlaceKind.VAN).order_by("name")
        self.fields["van"].queryset = vans  # type: ignore[attr-defined]
        crew = Person.objects.filter(is_active=True, roles__icontains=Role.TECHNICIAN)
        self.fields["crew"].queryset = crew.order_by("name")  # type: ignore[attr-defined]
        if rows is None:
            del self.fields["places"]
            return
        self.fields["places"].choices = [  # type: ignore[attr-defined]
            (f"{row.stack}/{row.level}", f"Stack {row.stack}, place {row.level}: {row.what}")
            for row in rows
        ]

    def swapped(self) -> list[dict[str, int]]:
        """Return the chosen places as a configuration has them."""
        pairs = (value.split("/") for value in self.cleaned_data.get("places", ()))
        return [{"stack": int(stack), "level": int(level)} for stack, level in pairs]


class HandForm(PlainForm):
    """One line added, dropped or changed."""

    verb = forms.ChoiceField(
        label="What", choices=HandLine.Verb.choices, widget=forms.RadioSelect, initial="change"
    )
    item = forms.ModelChoiceField(Item.objects.none(), label="Item", empty_label="Choose")
    step = forms.ChoiceField(label="For the step")
    quantity = forms.IntegerField(
        label="How many there shall be",
        min_value=0,
        required=False,
        help_text="Cable in mm, sealant in microlitres. How many more, where one is added. "
        "Empty to drop it.",
    )
    reason = forms.CharField(label="Why", max_length=150)

    def __init__(self, job: Job, data: Any = None, **kw: Any) -> None:
        super().__init__(data, **kw)
        self.fields["item"].queryset = Item.objects.order_by("name")  # type: ignore[attr-defined]
        kit = job.kit
        steps = kit.snapshot["steps"] if kit is not None else []
        self.fields["step"].choices = [(s["key"], s["title"]) for s in steps]  # type: ignore[attr-defined]
