"""A form says what was expected and what came, field by field."""

import pytest
from django import forms

from inventory.plain_forms import PlainForm


class Sample(PlainForm):
    """One field of each sort."""

    name = forms.CharField(label="Name", max_length=5)
    count = forms.IntegerField(label="Count", min_value=1, max_value=9)
    day = forms.DateField(label="Day")
    pick = forms.ChoiceField(label="Pick", choices=[("a", "A")])


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("name", "", "Name: expected some text, got nothing"),
        ("name", "too long", "Name: expected at most 5 characters, got 8"),
        ("name", "a\0", "Name: expected text without control characters, got 'a\\x00'"),
        ("name", "a\x07b", "Name: expected text without control characters, got 'a\\x07b'"),
        ("name", "a\x9bb", "Name: expected text without control characters, got 'a\\x9bb'"),
        ("count", "many", "Count: expected a whole number, got 'many'"),
        ("count", "0", "Count: expected at least 1, got '0'"),
        ("count", "10", "Count: expected at most 9, got '10'"),
        ("day", "soon", "Day: expected a date, got 'soon'"),
        ("pick", "z", "Pick: expected one of the list, got 'z'"),
    ],
)
def test_a_wrong_value_is_named(field: str, value: str, told: str) -> None:
    """Field, expected, got; the right fields say nothing."""
    data = {"name": "ok", "count": "3", "day": "2026-11-25", "pick": "a", field: value}

    assert Sample(data).errors == {field: [told]}


def test_a_right_form_says_nothing() -> None:
    """No words where nothing is wrong."""
    data = {"name": "ok", "count": "3", "day": "2026-11-25", "pick": "a"}

    assert Sample(data).is_valid()


def test_a_copied_table_leaves_blanks() -> None:
    """A tab or line end between the words of a name is a blank; a scanned code keeps its marks."""
    data = {"count": "3", "day": "2026-11-25", "pick": "a"}
    for typed, kept in (
        ("a\tb", "a b"),
        ("a\r\nb", "a b"),
        ("a\u2028b", "a b"),
        ("1\x1d2", "1\x1d2"),
    ):
        form = Sample(data | {"name": typed})
        assert form.is_valid()
        assert form.cleaned_data["name"] == kept
