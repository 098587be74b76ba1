"""EPCIS 2.0 documents: our check against published vectors, our events against the ledger.

Vectors: data/codes/epcis.json, judged by the schema of gs1/EPCIS (see data/codes/SOURCES.md).
"""

import json
from pathlib import Path

import pytest

from inventory.codes.epcis import faults_of

VECTORS = json.loads(
    (Path(__file__).parent / "data" / "codes" / "epcis.json").read_text(encoding="utf-8")
)["vectors"]
GOOD = next(vector["document"] for vector in VECTORS if vector["name"] == "pack_into_kit")


@pytest.mark.parametrize("vector", VECTORS, ids=[vector["id"] for vector in VECTORS])
def test_the_published_vectors(vector):
    """What the published schema takes has no fault here, what it refuses has one."""
    assert vector["schema_valid"] == (faults_of(json.dumps(vector["document"])) == [])


def changed(**fields):
    """The box that holds two modules, with fields of its event changed; None takes one out."""
    event = GOOD["epcisBody"]["eventList"][0] | fields
    event = {name: value for name, value in event.items() if value is not None}
    return json.dumps(GOOD | {"epcisBody": {"eventList": [event]}})


@pytest.mark.parametrize(
    ("fields", "where"),
    [
        ({"parentID": None}, "parentID"),  # EPCIS 2.0 section 7.4.3: demanded by ADD and DELETE
        ({"parentID": None, "action": "DELETE"}, "parentID"),
        ({"childQuantityList": [{"epcClass": "urn:x:1", "quantity": -1}]}, "quantity"),
        ({"childQuantityList": [{"epcClass": "urn:x:1", "quantity": 0}]}, "quantity"),
        ({"childQuantityList": [{"epcClass": "urn:x:1", "quantity": True}]}, "quantity"),
        ({"action": ["ADD"]}, "action"),
        ({"bizStep": {"packing": 1}}, "bizStep"),
        ({"eventTime": "2026-13-24T09:15:00Z"}, "eventTime"),
        ({"readPoint": "geo:48.1,11.5"}, "readPoint"),
        ({"persistentDisposition": {"set": ["broken"]}}, "persistentDisposition"),
    ],
)
def test_what_our_own_check_refuses(fields, where):
    """A box without a name, nothing or less than nothing in it, values of the wrong kind."""
    (fault,) = faults_of(changed(**fields))
    assert where in fault
    assert "expected" in fault


@pytest.mark.parametrize("text", ["", "[]", "1", "{}", "[" * 100_000, '{"epcisBody": 1}', b"\xff"])
def test_what_is_no_document(text):
    """Told, never raised."""
    assert faults_of(text) != []
