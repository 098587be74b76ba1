"""A number as a person types it; what can be read two ways is a question, never a guess."""

import re
from decimal import Decimal

import pytest
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from inventory import typed_numbers
from inventory.incoming.errors import TwoWays, Wrong
from inventory.plain_forms import NumberField, PlainErrors, Typed, WholeField
from tests.tree import TOP

# Typed -> value, or both ways it can be read. The browser reads the same table (test_fields.py).
# How marks and groups are written: resolution 10 of the 22nd CGPM (2003): the mark is a point or a
# comma on the line, digits stand in threes with a space between, never a point or comma. That
# people write 1.250 for 1250 all the same is common practice, no source.
CASES: dict[str, str | tuple[str, str]] = {
    "1250": "1250",
    "1,25": "1.25",
    "1.25": "1.25",
    "1 250": "1250",
    "1\u00a0250": "1250",
    "1\u202f250": "1250",
    "1'250": "1250",
    "1.250,5": "1250.5",
    "1,250.5": "1250.5",
    "1 250,125": "1250.125",
    "1.250.000": "1250000",
    "0,125": "0.125",
    "0.125": "0.125",
    "12,5000": "12.5000",
    "1000.125": "1000.125",
    "007": "007",
    " 3 ": "3",
    "-3": "-3",
    "1.250": ("1250", "1.25"),
    "1,250": ("1250", "1,25"),
    "12.500": ("12500", "12.5"),
    "1.255": ("1255", "1.2550"),
    "1.000": ("1000", "1"),
    "": "",
    "1 25": "",
    "1.25.5": "",
    "1,2,3": "",
    "1.250 5": "",
    "1e3": "",
    "0x10": "",
    "NaN": "",
    "ten": "",
    ",5": "",
    "5,": "",
    "1\u066b5": "",  # digits and marks of other scripts are not guessed
    "\u0663": "",
}


@pytest.mark.parametrize(("text", "expected"), CASES.items())
def test_a_number_is_read_one_way_or_refused(text: str, expected: str | tuple[str, str]) -> None:
    """A value; or both readings, named so that either can be typed; or no number."""
    if isinstance(expected, tuple):
        with pytest.raises(TwoWays, match=re.escape(" or ".join(expected))):
            typed_numbers.number(text)
    elif expected:
        assert typed_numbers.number(text) == Decimal(expected)
    else:
        with pytest.raises(Wrong):
            typed_numbers.number(text)


@given(
    st.integers(0, 10**9),
    st.integers(0, 4).flatmap(lambda n: st.text("0123456789", min_size=n, max_size=n)),
    st.sampled_from([(",", "."), (".", ","), (",", " "), (".", " "), (".", "'"), (",", "")]),
)
def test_no_country_s_number_is_read_as_another(
    whole: int, part: str, marks: tuple[str, str]
) -> None:
    """Written with any usual marks it is read as it was meant, or both readings are named."""
    mark, group = marks
    meant = Decimal(f"{whole}.{part}" if part else whole)
    text = f"{whole:,}".replace(",", group) + (mark + part if part else "")
    found, offered = readings(text)

    assert meant in found
    # What the refusal offers is taken, and means what it says.
    assert [readings(way)[0] for way in offered] == [(one,) for one in found[: len(offered)]]


def readings(text: str) -> tuple[tuple[Decimal, ...], list[str]]:
    """What a text can mean, one or two; of two, how each can be typed."""
    try:
        return (typed_numbers.number(text),), []
    except TwoWays as two:
        return two.readings, two.ways.split(" or ")


@given(st.text("0123456789.,' -+\u00a0m", max_size=12))
def test_what_is_typed_is_a_number_or_refused(text: str) -> None:
    """Nothing else is ever raised, and nothing below zero is a quantity."""
    try:
        found = typed_numbers.base_units(text, {"": 1, "m": 1000})
    except Wrong:
        found = 0

    assert found >= 0


def field_says(field: forms.Field, text: str) -> object:
    """The value of one field of a form, or its words."""
    form = type("One", (PlainErrors, forms.Form), {"box": field})({"box": text})
    return form.cleaned_data["box"] if form.is_valid() else form.errors["box"][0]


@pytest.mark.parametrize(
    ("text", "whole", "number"),
    [
        ("1 250", 1250, 1250.0),
        ("2,5", "Box: expected a whole number, got '2,5'", 2.5),
        ("ten", "Box: expected a whole number, got 'ten'", "Box: expected a number, got 'ten'"),
        *(
            (text, *[f"Box: expected a number that can be read one way, got {text!r}: {ways}"] * 2)
            for text, ways in {
                "1.250": "write 1250 or 1.25",
                "1,255": "write 1255 or 1,2550",
            }.items()
        ),
    ],
)
def test_a_form_reads_what_people_type(text: str, whole: object, number: object) -> None:
    """The same on every page; the words name both readings."""
    assert field_says(WholeField(label="Box"), text) == whole
    assert field_says(NumberField(label="Box"), text) == number


def all_forms(of: type = PlainErrors) -> list[type]:
    """Every form of the two houses."""
    return [one for form in of.__subclasses__() for one in (form, *all_forms(form))]


def test_every_box_for_a_number_reads_it_so() -> None:
    """No form takes a number in Django's own way, which reads 1.250 as one and a quarter."""
    from django.urls import get_resolver

    get_resolver().reverse_dict  # noqa: B018  # loads every page, and so every form
    ours = [form for form in all_forms() if form.__module__.startswith(("inventory.", "kitting."))]
    numbers = forms.IntegerField | forms.FloatField | forms.DecimalField
    found = [
        f"{form.__name__}.{name}"
        for form in ours
        for name, field in getattr(form, "base_fields", {}).items()
        if isinstance(field, numbers) and not isinstance(field, Typed)
        if not field.widget.is_hidden
    ]

    assert len(ours) > 30
    assert found == []


def test_no_page_reads_a_number_by_itself() -> None:
    """A box for numbers bears a name that fields.js reads, or is a field of a form."""
    boxes = [
        (path.name, box)
        for path in (TOP / "templates").rglob("*.html")
        for box in re.findall(r"<input[^>]*inputmode=[^>]*>", path.read_text(encoding="utf-8"))
    ]
    strange = [
        (page, box)
        for page, box in boxes
        if not re.search(r'name="(quantity|number|money|\{\{ widget\.name \}\})"', box)
        or "pattern=" in box
        or 'type="number"' in box
    ]

    assert len(boxes) > 10
    assert strange == []
