"""Check values from outside: which are used, how each is proved, and when two values agree."""

import csv
import json
from pathlib import Path

import pytest

from kitting.plan import figure

DATA = Path(__file__).parent / "data"


def sheet(name):
    """Rows of a csv, its head of comments left out."""
    lines = (DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


ROWS = json.loads((DATA / "facts.json").read_text(encoding="utf-8"))["rows"]
HOW = {row["prefix"]: row["by"] for row in sheet("how")}
UNUSED = {row["prefix"]: row["reason"] for row in sheet("unused")}


def longest(identity, prefixes):
    """The longest of the prefixes that an id begins with, "" for none."""
    return max((prefix for prefix in prefixes if identity.startswith(prefix)), key=len, default="")


def proof(row):
    """How a row is proved: "outside" for one that came with its inputs, else as how.csv says, ""
    where it is unused."""
    identity = row["id"]
    if row["kind"] != "published":
        return "outside"
    how = longest(identity, HOW)
    return HOW[how] if len(how) > len(longest(identity, UNUSED)) else ""


def used(topic="", prefix=""):
    """The used rows of a topic or prefix; never none."""
    found = [
        row
        for row in ROWS
        if row["topic"] in (topic, topic or row["topic"]) and row["id"].startswith(prefix)
    ]
    found = [row for row in found if proof(row)]
    assert found, (topic, prefix)
    return found


def cells(prefix):
    """All rows of a prefix, used or not."""
    found = [row for row in ROWS if row["id"].startswith(prefix)]
    assert found, prefix
    return found


def each(rows):
    """Parameters of a test over rows, named by their ids."""
    return pytest.mark.parametrize("row", rows, ids=[row["id"] for row in rows])


def name_of(row):
    """The figure that answers a row: its first three parts where such a one is known, else two."""
    parts = row["id"].split(".")
    longer = ".".join(parts[:3])
    return longer if longer in figure.registry() else ".".join(parts[:2])


def check(row):
    """The product gives the row's value within its tolerance; a second source has it too."""
    answer = figure.ask(name_of(row), row["inputs"])

    assert agrees(row["value"], answer.value, row["tolerance"]), answer
    assert answer.source
    assert answer.edition
    by = proof(row)
    if by.startswith("second:"):
        assert second(by.removeprefix("second:"), row["inputs"]) == first(row["value"])


def first(value):
    """A printed pair of two equal figures is one figure."""
    return float(value[0]) if isinstance(value, list) else value


def second(name, inputs):
    """The cell of a second source that these inputs name."""
    for row in sheet(f"second/{name}"):
        keys = {key: cell for key, cell in row.items() if key != "value"}
        if all(same(cell, inputs[key]) for key, cell in keys.items()):
            return number(row["value"])
    raise AssertionError((name, inputs))


def number(text):
    """A cell as a number where it is one."""
    try:
        return float(text)
    except ValueError:
        return text


def same(cell, value):
    return cell == value or number(cell) == value


def agrees(expected, got, tolerance):
    """Within the tolerance: absolute, "x %", or exact; part by part in objects and lists."""
    if isinstance(expected, dict):
        within = tolerance if isinstance(tolerance, dict) else dict.fromkeys(expected, tolerance)
        return (
            isinstance(got, dict)
            and set(expected) <= set(got)
            and all(
                agrees(value, got[key], within.get(key, "exact")) for key, value in expected.items()
            )
        )
    if isinstance(expected, list):
        return (
            isinstance(got, list)
            and len(expected) == len(got)
            and all(agrees(*pair, tolerance) for pair in zip(expected, got, strict=True))
        )
    if expected is None or isinstance(expected, bool | str):
        return got == expected and type(got) is type(expected)
    if isinstance(got, bool) or not isinstance(got, int | float):
        return False
    if isinstance(tolerance, str):
        share = float(tolerance.removesuffix("%")) / 100 if tolerance.endswith("%") else 1e-9
        return abs(got - expected) <= abs(expected) * share + 1e-9
    return abs(got - expected) <= tolerance + 1e-9
