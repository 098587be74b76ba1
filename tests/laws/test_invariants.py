"""The table of laws (`invariants.csv`) is true: each is tested, and a planted fault breaks each.

A row: the law's number, what holds, how the design changed it, and the tests that try it. A new law
is a new row, and a patch in tests/faults/ whose third line names it: `law: I25`.
"""

import csv
from pathlib import Path

from tests.faults.run import FOLDER, read
from tests.tree import TOP

TABLE = Path(__file__).parent / "invariants.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
LAWS = {row["law"] for row in ROWS}
FEWEST = 24  # planted faults


def broken_by() -> dict[str, list[str]]:
    """Law -> the tests that notice it broken by a planted fault."""
    found: dict[str, list[str]] = {}
    for patch in sorted(FOLDER.glob("*.patch")):
        fault = read(patch)
        for law in fault.laws:
            found.setdefault(law, []).append(fault.test)
    return found


def test_every_law_is_there_once() -> None:
    """I1 to I24, and whatever came since."""
    assert [row["law"] for row in ROWS] == [f"I{n}" for n in range(1, len(ROWS) + 1)]
    assert len(ROWS) >= 24


def test_every_law_s_tests_are_there() -> None:
    """File and function exist, and say what they try."""
    for row in ROWS:
        assert row["holds"], row
        for test in row["tests"].split():
            file, name = test.split("::")
            source = (TOP / file).read_text(encoding="utf-8")
            assert f"def {name}(" in source, test


def test_every_law_is_broken_by_a_planted_fault() -> None:
    """Each law by at least one; a fault names no law that is not in the table."""
    found = broken_by()

    assert set(found) == LAWS
    assert len(list(FOLDER.glob("*.patch"))) >= FEWEST


def test_a_law_s_own_test_notices_a_fault() -> None:
    """Of the tests in a law's row at least one is what turns red."""
    found = broken_by()
    for row in ROWS:
        red = {test.split("[")[0] for test in found[row["law"]]}
        assert red & set(row["tests"].split()), row["law"]
