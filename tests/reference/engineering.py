"""Rows of data/engineering.json: check values from outside, each with its source."""

import json
from pathlib import Path

ROWS = json.loads((Path(__file__).parent / "data" / "engineering.json").read_text())["rows"]


def rows(prefix):
    """The rows whose id begins so; never none."""
    found = [row for row in ROWS if row["id"].startswith(prefix)]
    assert found, prefix
    return found


def ids(found):
    return [row["id"] for row in found]
