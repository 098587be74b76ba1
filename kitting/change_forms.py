"""Forms about what stands or shall stand: the answers of a kit changed, a stack others fitted, a
visit to what stands, a line changed by hand."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from inventory import typed_numbers
from inventory.incoming.errors import Wrong
from inventory.listed import ListedField
from inventory.models import Item, Person, Place, Role
from inventory.overviews import our_vans
from inventory.plain_forms import PlainForm
from kitting.forms import DATE, PREFIX, year_slip
from kitting.models import AsBuilt, Job
from kitting.plan.axes import Axis
from kitting.plan.conditions import holds
from kitting.plan.configuration import OWN_KEYS
from kitting.plan.family import Family
from kitting.plan.site import UNKNOWN, UnknownInput
from kitting.plan.site import Site as Answers
from kitting.questions import NOT_YET, base_units, field_of, modules_of, said
from kitting.sparing import STEP


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

    def answers(self) -> list[tuple[forms.BoundField, str]]:
        """The questions about the site, each with its answer so far as people say it."""
        return [(self[f"{PREFIX}{axis.name}"], self._said(axis)) for axis in self._asked()]

    def _said(self, axis: Axis) -> str:
        text = self._raw(f"{PREFIX}{axis.name}")
        value = base_units(axis, text)
        if value == UNKNOWN:
            return NOT_YET
        return said(axis, value) if isinstance(value, int) else text

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
        choices = [
            ("", gettext_lazy("Choose")),
            *((one.name, one.title) for one in families.values()),
        ]
        self.fields["family"].choices = choices  # type: ignore[attr-defined]


class SiteForm(PlainForm):
    """A new site."""

    name = forms.CharField(label="Name", max_length=120)
    address = forms.CharField(label="Address", max_length=300)
    phone = forms.CharField(
        label="Number to call there",
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel"}),
        help_text="Called if something that stands there is recalled. Left empty, none is kept.",
    )


class SiteChangeForm(SiteForm):
    """What may change about a site. All of it is somebody's, who may ask us to forget it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("name", "address"):
            self.fields[name].required = False
            self.fields[name].help_text = "Left empty, it is erased."


class StartForm(PlainForm):
    """A visit to what stands: when, which van, who; of a swap, which places."""

    date = forms.DateField(label="Day", widget=DATE, validators=[year_slip])
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
        self.fields["van"].queryset = our_vans()  # type: ignore[attr-defined]
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


VERBS = (
    ("change", "Change how many there are"),
    ("add", "Add some"),
    ("drop", "Leave it out"),
)
IN_BASE = {  # base unit of an item -> what one of each typed unit is in it
    "piece": {"": 1},
    "mm": {"m": 1000, "cm": 10, "mm": 1},  # a bare number is mm to some and metres to others
    "ul": {"ml": 1000, "l": 1_000_000},
    "mm2": {"mm2": 1, "cm2": 100, "m2": 1_000_000},
}
SEVERAL = re.compile(r"(?:([1-9][0-9]?)\s*[xX]\s*)?([^xX]+)")  # 2 x 3 m


class HandForm(PlainForm):
    """One line added, dropped or changed."""

    verb = forms.ChoiceField(
        label="What shall be done", choices=VERBS, widget=forms.RadioSelect, initial="change"
    )
    item = ListedField(Item.objects.none(), label="Item", empty_label="Choose")
    step = forms.ChoiceField(label="For the step")
    quantity = forms.CharField(
        label="How many there shall be",
        max_length=20,
        required=False,
        help_text="As 12, 4.2 m or 30 ml; several pieces of a cable as 2 x 3 m + 1.5 m. How many "
        "more, where some are added. Empty to drop it.",
    )
    reason = forms.CharField(label="Why", max_length=150)

    def __init__(self, job: Job, data: Any = None, **kw: Any) -> None:
        super().__init__(data, **kw)
        self.fields["item"].queryset = Item.objects.order_by("name")  # type: ignore[attr-defined]
        kit = job.kit
        steps = kit.snapshot["steps"] if kit is not None else []
        self.fields["step"].choices = [(s["key"], s["title"]) for s in steps if s["key"] != STEP]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A typed quantity is given in base units of the item, and of a length its pieces too."""
        cleaned: dict[str, Any] = super().clean() or {}
        text, item = cleaned.get("quantity") or "", cleaned.get("item")
        cleaned["pieces"] = _pieces(text) if item is not None and item.unit == "mm" else []
        if text and item is not None:
            quantity = sum(cleaned["pieces"]) or _in_base(text, item.unit)
            if quantity is None:
                units = " or ".join(f"12 {unit}".strip() for unit in IN_BASE[item.unit])
                wanted = f"a number and its unit as {units}" if item.unit != "piece" else units
                got = f"got {text!r}{typed_numbers.doubt(text)}"
                words = f"How many there shall be: expected {wanted}, {got}"
                self.add_error("quantity", words)
            cleaned["quantity"] = quantity
        return cleaned


def _pieces(text: str) -> list[int]:
    """Return mm of each piece that a text names, none where it names no lengths."""
    found = []
    for part in text.split("+"):
        told = SEVERAL.fullmatch(part.strip())
        mm = _in_base(told[2], "mm") if told else None
        if told is None or not mm:
            return []
        found += [mm] * int(told[1] or 1)
    return found


def _in_base(text: str, unit: str) -> int | None:
    """Return a typed quantity in an item's base unit, None where it is none."""
    try:
        return typed_numbers.base_units(text, IN_BASE[unit])
    except Wrong:
        return None
