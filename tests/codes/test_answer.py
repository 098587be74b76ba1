"""The shape of an answer."""

from inventory.codes.answer import Answer, Reading, Refused


def test_reading_shape():
    """A reading has the six keys of the command's JSON, pairs as lists."""
    reading = Reading("gs1", "t", {"gtin": "1"}, (("01", "1"),), (("06", (("S", "A"),)),), ("w",))

    assert Answer("i", (reading,)).as_json() == {
        "input": "i",
        "readings": [
            {
                "kind": "gs1",
                "text": "t",
                "fields": {"gtin": "1"},
                "elements": [["01", "1"]],
                "formats": [["06", [["S", "A"]]]],
                "warnings": ["w"],
            }
        ],
        "refused": None,
    }


def test_refusal_shape():
    """A candidate is a text or a list of pairs."""
    refused = Refused("k", "m", ("text", (("10", "A"),)))

    assert Answer("i", (), refused).as_json() == {
        "input": "i",
        "readings": [],
        "refused": {"kind": "k", "message": "m", "candidates": ["text", [["10", "A"]]]},
    }
