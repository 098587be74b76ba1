"""Published tables say where they come from."""

import datetime as dt

import pytest

from kitting.plan import lookup

NAMES = sorted(path.stem for path in lookup.FOLDER.glob("*.csv"))


@pytest.mark.parametrize("name", NAMES)
def test_a_table_begins_with_its_source(name):
    """Source, edition and the day of taking over stand in the first lines."""
    head = (lookup.FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()[:3]

    assert [line.split(": ")[0] for line in head] == ["# Source", "# Edition", "# Taken over"]
    found = lookup.table(name)
    assert found.rows
    assert dt.date.fromisoformat(found.taken)
    assert lookup.editions()[name] == found.edition
