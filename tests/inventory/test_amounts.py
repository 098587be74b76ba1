"""Places as people say them."""

from inventory.models import Place
from inventory.templatetags.amounts import where


def test_a_place_is_told_from_the_inside_out() -> None:
    """The bag, then what it stands in; a thing that stands nowhere says so."""
    van = Place(kind="van", code="V", name="Van 2")
    parcel = Place(kind="parcel", code="P", name="Parcel 1", parent=van)

    assert where(Place(kind="bag", code="G", name="Bag 3", parent=parcel)) == (
        "Bag 3, Parcel 1, Van 2"
    )
    assert where(None) == "nowhere yet"
