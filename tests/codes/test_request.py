"""A question to the reader."""

import datetime as dt

from inventory.codes.known import NOTHING
from inventory.codes.request import Request


def test_context_of_the_wrong_type_is_absent():
    """A context value counts only in the type it should have."""
    request = Request("x", "keys", NOTHING, {"separator": 7, "year": "soon"})

    assert request.asks("separator") == ""
    assert request.year == dt.datetime.now(tz=dt.UTC).year
    assert not request.sends_separators


def test_who_sends_separators():
    """Decoded symbols do, and devices whose spelling is known."""
    assert Request("x", "symbol", NOTHING, {}).sends_separators
    assert Request("x", "keys", NOTHING, {"separator": "|"}).sends_separators
    assert not Request("x", "hand", NOTHING, {}).sends_separators
