"""Ids are version 7 UUIDs."""

from inventory.ledger.ids import uuid7


def test_the_example_of_the_standard() -> None:
    """RFC 9562 appendix A.6, from memory: 2022-02-22 19:22:22 UTC."""
    made = uuid7(0x017F22E279B0, (0xCC3 << 62) | 0x18C4DC0C0C07398F)

    assert str(made) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    assert (made.version, made.variant) == (7, "specified in RFC 4122")


def test_no_two_are_equal() -> None:
    """74 random bits within one millisecond."""
    assert len({uuid7(1) for _ in range(1000)}) == 1000
