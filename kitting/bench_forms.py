"""Figures at the bench: small forms, each asks one published figure and says its answer."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy

from inventory import typed_numbers
from inventory.incoming.errors import Wrong
from inventory.plain_forms import NumberField, PlainForm
from kitting.plan import conductors
from kitting.plan.figure import Answer, ask
from kitting.plan.figures import conductors as copper
from kitting.plan.figures import fasteners, glands, lifting
from kitting.speaking import told

METALS = {"8.8": "steel 8.8", "10.9": "steel 10.9", "A2-70": "stainless A2-70"}
FRICTION = {"0.1": "well oiled, 0.10", "0.12": "oiled, 0.12", "0.14": "light oil, 0.14"}
SHAPES = {"tri": "corner bead", "rect": "filled joint", "half": "half round", "round": "round"}
SYSTEMS = {"dc": "direct current", "1ph": "one phase", "3ph": "three phases"}
DURATIONS = {"<=1h": "up to 1 hour", "1-2h": "1 to 2 hours", "2-8h": "2 to 8 hours"}
HOLDS = {"good": "handles", "fair": "edges to grip", "poor": "nothing to grip"}
STRANDS = {"5": "fine strands (class 5)", "2": "strands (class 2)"}
WARMTH = {"70": "in use, 70 \u00b0C", "20": "cold, 20 \u00b0C"}


def choose(label: str, choices: dict[str, str]) -> forms.ChoiceField:
    """A list, its words in the language of the page."""
    return forms.ChoiceField(
        label=label, choices=[(value, gettext_lazy(words)) for value, words in choices.items()]
    )


def measure(label: str, least: float, most: float, **kwargs: Any) -> NumberField:
    return NumberField(label=label, min_value=least, max_value=most, **kwargs)


class BenchForm(PlainForm):
    """One question of the bench. `key` is its place on the page."""

    key: ClassVar[str]
    title: ClassVar[str]
    figure: ClassVar[str]

    def __init__(self, data: Any = None) -> None:
        """data: what was asked; None before."""
        super().__init__(data, auto_id=f"{self.key}_%s", use_required_attribute=False)

    def inputs(self) -> dict[str, Any]:
        """What the figure is asked with, from a valid form."""
        return dict(self.cleaned_data)

    def answer(self) -> Answer:
        """Ask the figure."""
        return ask(self.figure, self.inputs())

    def told(self, value: Any) -> str:
        """The answer in words."""
        raise NotImplementedError


class DropForm(BenchForm):
    """Voltage lost on a run."""

    key, title, figure = "drop", "Voltage lost on a cable", "cond.vdrop"
    kind = choose("System", SYSTEMS)
    nominal_v = measure("Volts of the system", 1, 1500)
    current_a = measure("Amperes", 0, 1000)
    length_m_one_way = measure("Metres, one way", 0, 1000)
    area = choose("Copper, mm\u00b2", {f"{area:g}": f"{area:g}" for area in copper.AREAS[3:]})
    stranding = choose("Its strands", STRANDS)
    warmth = choose("The conductor is", WARMTH)

    def inputs(self) -> dict[str, Any]:
        """The conductor's resistance comes from the table of the kit."""
        given = dict(self.cleaned_data)
        ohm = conductors.resistance(float(given.pop("area")), int(given.pop("stranding")))
        warm = conductors.warmed(ohm, float(given.pop("warmth")))
        return {**given, "ohm_km": warm}

    def told(self, value: Any) -> str:
        """Volts and per cent."""
        return f"{value['volt']:.2f} V are lost, {value['percent']:.2f} % of the system."


class GlandForm(BenchForm):
    """Which gland holds a cable."""

    key, title, figure = "gland", "Gland for a cable", "gland.pick"
    cable_od_mm = measure("Cable, measured across (mm)", 0.1, 200)

    def told(self, value: Any) -> str:
        """The sizes with their usual range, or that there is none."""
        if not value:
            return "No usual gland holds it. Nothing nearer is offered: look at other glands."
        ranges = [(size, *glands.clamp(size)) for size in value]
        return ", ".join(
            told(f"{size} (usually {low:g} to {high:g} mm)") for size, low, high in ranges
        )


class TorqueForm(BenchForm):
    """How tight a screw may be at most."""

    key, title, figure = "torque", "Torque of a screw", "fast.torque"
    thread = choose("Thread", {size: size for size in fasteners.COARSE})
    metal = choose("Head mark", METALS)
    friction = choose("Thread and head are", FRICTION)

    def inputs(self) -> dict[str, Any]:
        """Class and friction as the figure names them."""
        given = self.cleaned_data
        mu = float(given["friction"])
        return {"thread": given["thread"], "class": given["metal"], "mu": mu}

    def told(self, value: Any) -> str:
        """Nm at most."""
        return f"{value:.1f} Nm at most for the screw itself."


class SealantForm(BenchForm):
    """How many cartridges a bead takes."""

    key, title, figure = "sealant", "Cartridges of sealant", "seal.cart"
    shape = choose("Bead", SHAPES)
    w_mm = measure("Width (mm)", 0.5, 200)
    d_mm = measure("Depth (mm), for a corner or a joint", 0.5, 200, required=False)
    length_m = measure("Metres", 0, 10_000)
    pack_ml = measure("Millilitres in a cartridge", 1, 5000, initial=310)
    waste = measure("Waste, %", 0, 100, initial=10)

    def clean(self) -> dict[str, Any]:
        """A corner and a joint have a depth."""
        given: dict[str, Any] = super().clean() or {}
        if given.get("shape") in ("tri", "rect") and given.get("d_mm") is None:
            self.add_error("d_mm", f"{self.fields['d_mm'].label}: expected a number, got nothing")
        return given

    def inputs(self) -> dict[str, Any]:
        """Waste as a share; no depth where the shape has none."""
        given = dict(self.cleaned_data)
        depth = given["d_mm"] if given["shape"] in ("tri", "rect") else None
        return {**given, "d_mm": depth, "waste": given["waste"] / 100}

    def told(self, value: Any) -> str:
        """Whole cartridges and ml."""
        return f"{value['cartridges']} to open for {value['ml']:.0f} ml."


class TeamForm(BenchForm):
    """What two or three may share."""

    key, title, figure = "team", "Lifting together", "lift.team"
    each = forms.CharField(label="What each may lift alone (kg)", max_length=60, initial="25, 25")

    def clean_each(self) -> list[float]:
        """One to three numbers between commas."""
        text = str(self.cleaned_data["each"])
        try:
            found = [float(one) for one in typed_numbers.several(text)]
        except Wrong as wrong:
            raise ValidationError(f"{self.fields['each'].label}: {wrong}") from None
        if not 1 <= len(found) <= len(lifting.TEAM) or not all(0 < one <= 100 for one in found):
            label = self.fields["each"].label
            raise ValidationError(f"{label}: expected one to three numbers as 25, 25, got {text!r}")
        return found

    def inputs(self) -> dict[str, Any]:
        """As the figure names it."""
        return {"individual_kg": self.cleaned_data["each"]}

    def told(self, value: Any) -> str:
        """The guide figure."""
        return f"The guide is {value:.1f} kg for all of them together."


class LiftForm(BenchForm):
    """The lifting index of one lift."""

    key, title, figure = "lift", "One person lifts: how hard", "lift.ex"
    L_kg = measure("Load (kg)", 0.1, 200)
    H_cm = measure("Hands in front of the ankles (cm)", 0, 100)
    V_cm = measure("Hands above the floor (cm)", 0, 200)
    D_cm = measure("How far up or down (cm)", 0, 200)
    A_deg = measure("Body turned (degrees)", 0, 180, initial=0)
    F = measure("Lifts a minute", 0, 20, initial=0.2)
    dur = choose("For how long", DURATIONS)
    C = choose("To hold it there are", HOLDS)

    def told(self, value: Any) -> str:
        """Index and recommended limit."""
        limit, index = value["RWL_kg"], value["LI"]
        if index is None:
            return "The method recommends no weight at all for such a lift."
        words = f"Lifting index {index:.2f}: the method recommends {limit:.1f} kg at most there."
        if index > 1:
            words += " The load is above that: a second person or a lifting aid is asked."
        return words


FORMS: tuple[type[BenchForm], ...] = (
    DropForm,
    GlandForm,
    TorqueForm,
    SealantForm,
    TeamForm,
    LiftForm,
)
