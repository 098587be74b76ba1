"""The names of readings and refusals are a list that others rely on."""

import json
import re
from pathlib import Path

from inventory.codes.reading import read
from tests.codes import hostile
from tests.counts import counts
from tests.tree import TOP

VECTORS = TOP / "tests" / "reference" / "data" / "codes"
LISTED = set(re.findall("`([a-z0-9_]+)`", (TOP / "inventory/codes/README.md").read_text()))


def texts():
    for name in ("gs1_good", "gs1_bad", "digital_link", "mh10", "wedge_cases"):
        for row in json.loads(Path(VECTORS / f"{name}.json").read_text())["vectors"]:
            yield row.get("input", row.get("received", ""))
    yield from hostile.texts(18, counts(500, 5_000))


def test_every_kind_is_listed():
    """What vectors and hostile texts are answered with stands in the list, under these names."""
    kinds = set()
    for text in texts():
        for context in ({}, {"identifiers": "DI"}):
            answer = read(text, "keys", context=context)
            kinds |= {reading.kind for reading in answer.readings}
            kinds |= {answer.refused.kind} if answer.refused else set()

    assert kinds - LISTED == set()
    assert len(kinds) > 30


def test_the_vectors_kinds_are_listed():
    """Each kind that a published vector names, or one of its two, is ours."""
    for name in ("gs1_bad", "digital_link", "mh10"):
        for row in json.loads((VECTORS / f"{name}.json").read_text())["vectors"]:
            if "expect_error" in row:
                assert {row["expect_error"], row.get("alt_error")} & LISTED, row["id"]
