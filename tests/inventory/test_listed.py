"""One of a long list is known by what was offered, its code, or a name that only one has."""

import pytest

from inventory.charge_forms import WarmthForm
from inventory.listed import SHORT
from inventory.models import Place
from tests.firm import Firm


@pytest.fixture
def long(shop: Firm) -> Firm:
    """Bins enough that one types; two of one name, one named as another's code."""
    for n in range(SHORT):
        Place.objects.create(kind="bin", code=f"R{n}", name=f"Rack {n}", parent=shop.dock)
    Place.objects.create(kind="bin", code="X1", name="Rack 7", parent=shop.dock)
    Place.objects.create(kind="bin", code="X2", name="R5", parent=shop.dock)
    return shop


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("R12", "R12"),
        ("r12", "R12"),
        ("Rack 12, Dock (R12)", "R12"),
        ("rack 12", "R12"),
        ("R5", "R5"),  # another one is named so: the code counts
        ("Rack 7", ""),  # two
        ("Rack", ""),  # a beginning
        ("Rack 12 (R99)", ""),
    ],
)
def test_a_typed_text_means_one_or_is_refused(long: Firm, typed: str, code: str) -> None:
    """Refused with what came; the page that comes back still has it in the field."""
    form = WarmthForm({"place": typed, "warmest_c": "30"})

    if code:
        assert form.is_valid(), form.errors
        assert form.cleaned_data["place"].code == code
    else:
        assert form.errors["place"] == [f"Place: expected one of the list, got {typed!r}"]
        assert f'value="{typed}"' in str(form["place"])


def test_a_short_list_is_a_list(shop: Firm) -> None:
    """One touch and no keyboard while a thumb goes through it."""
    html = str(WarmthForm()["place"])

    assert '<option value="BIN1">Bin 1, Depot</option>' in html
    assert "datalist" not in html


def test_a_long_one_is_typed_into(long: Firm) -> None:
    """Each once, with the code that tells two of one name apart; what is chosen stands there."""
    html = str(WarmthForm(initial={"place": long.dock})["place"])

    assert "<select" not in html
    assert html.count("<option ") == Place.objects.exclude(kind="van").count() + 1
    assert 'value="Rack 7, Dock (X1)" data-code="X1"' in html
    assert 'data-listed value="Dock, Depot (DOCK)"' in html
