"""A refusal carries its kind beside its words."""

from inventory.pictures.errors import KINDS, PhotoRefused


def test_a_refusal_has_a_kind_and_a_message() -> None:
    """Both are shown; the kind is one that callers may act on."""
    refusal = PhotoRefused("type", "expected a, got b")

    assert refusal.kind in KINDS
    assert str(refusal) == refusal.message == "expected a, got b"
