"""Which GS1 elements stand together."""

import pytest

from inventory.codes import associations
from inventory.codes.errors import CodeError

GTIN = ("01", "09520123456788")


@pytest.mark.parametrize(
    "elements",
    [
        (GTIN, ("21", "A"), ("250", "B")),  # a group of two
        (GTIN, ("3103", "000189"), ("3922", "1")),  # a group with a pattern
        (("400", "A"), ("400", "A")),  # the same twice
        (),
    ],
)
def test_right_company(elements):
    """These need nothing more and exclude nothing here."""
    assert associations.check(elements) == ()


@pytest.mark.parametrize(
    ("elements", "kind"),
    [
        ((GTIN, ("250", "B")), "missing_required"),
        ((GTIN, ("3103", "000189"), ("3101", "000189")), "mutually_exclusive"),
        ((GTIN, ("02", "09520123456788"), ("37", "1")), "mutually_exclusive"),
        ((("21", "A"), ("21", "B"), GTIN), "repeat_conflict"),
    ],
)
def test_wrong_company(elements, kind):
    """What is missing, excluded or repeated is named."""
    with pytest.raises(CodeError) as refusal:
        associations.check(elements)

    assert kind == refusal.value.kind


def test_internal_identifiers_turn_needs_into_warnings():
    """A company's own code may pair as it likes, with a warning."""
    assert associations.check((("90", "A"), ("10", "B"))) == ("missing_required:10",)
