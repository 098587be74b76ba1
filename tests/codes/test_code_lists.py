"""Code lists that standards keep."""

import pytest

from inventory.codes.code_lists import codes


def test_lists():
    """Each list has its size in the published edition; what is no list is an error."""
    sizes = {"country": 249, "country_letters": 249, "currency": 181, "media": 30, "package": 431}

    for name, size in sizes.items():
        assert size == len(codes(name))
    with pytest.raises(KeyError):
        codes("colour")
