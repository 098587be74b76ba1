"""Code lists that standards keep."""

import pytest

from inventory.codes.code_lists import codes


def test_lists():
    """Each list has its size in the published edition; what is no list is an error."""
    names = ["country", "country_letters", "currency", "media", "package"]

    assert [249, 249, 181, 30, 431] == [len(codes(name)) for name in names]
    with pytest.raises(KeyError):
        codes("colour")
