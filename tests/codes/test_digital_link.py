"""GS1 Digital Link."""

import pytest

from inventory.codes import digital_link
from inventory.codes.errors import CodeError


@pytest.mark.parametrize(
    ("address", "elements"),
    [
        # The rightmost key leads; what stands before it is the owner's path.
        (
            "https://example.com/00/x/01/09520123456788/21/A1",
            (("01", "09520123456788"), ("21", "A1")),
        ),
        # A value that looks like a key is a value.
        ("https://example.com/01/09520123456788/21/01", (("01", "09520123456788"), ("21", "01"))),
        ("HTTPS://EXAMPLE.COM:8443/01/09520123456788#top", (("01", "09520123456788"),)),
        ("https://example.com/01/09520123456788?linkType=x&&", (("01", "09520123456788"),)),
    ],
)
def test_good_addresses(address, elements):
    """Elements come out of the path and the query."""
    assert digital_link.parse(address).elements == elements


@pytest.mark.parametrize(
    ("address", "kind"),
    [
        ("https://example.com", "no_key"),
        ("https://[bad", "no_key"),
        ("https://example.com/01/09520123456788/", "no_key"),
        ("https://example.com/01/09520123456788/21/A/21/A", "duplicate_ai"),
        ("https://example.com/8004/9520A?22=1", "not_an_attribute"),
        ("https://example.com/00/952012345678912345/21/A", "qualifier_order"),
        ("javascript://example.com/01/09520123456788", "bad_scheme"),
    ],
)
def test_bad_addresses(address, kind):
    """Each fault has its name."""
    with pytest.raises(CodeError) as refusal:
        digital_link.parse(address)

    assert refusal.value.kind == kind


def test_nothing_is_fetched(monkeypatch):
    """Parsing opens no connection."""
    monkeypatch.setattr("socket.socket", None)

    assert digital_link.parse("https://example.com/01/09520123456788").elements
