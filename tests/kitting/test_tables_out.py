"""Jobs and stacks that stand, handed out: brought in again they change nothing."""

from __future__ import annotations

import csv
from datetime import UTC, datetime
from pathlib import Path

import pytest

from inventory import handing_out
from inventory.bringing import looking, running
from inventory.bringing.kinds import KINDS
from inventory.digest import digest
from inventory.incoming.reading import Choices
from kitting import packing, surveying
from tests.kitting import yard as yards
from tests.kitting.yard import CONFIGURATION, Yard
from tests.stories.test_one_job import walk


def handed(kind: str, file: Path) -> tuple[handing_out.HandedOut, set[str], list[dict[str, str]]]:
    told = handing_out.hand_out(kind, file)
    seen = looking.look(KINDS[kind], file.read_bytes(), file.name, Choices(), None)
    assert list(map(str, seen.faults)) == []
    rows = []
    if file.suffix == ".csv":
        with file.open(encoding="utf-8-sig", newline="") as opened:
            rows = list(csv.DictReader(opened))
    return told, {one.state for one in seen.found}, rows


@pytest.mark.django_db
@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_jobs_and_stacks_come_back_as_they_are(tmp_path: Path, ending: str) -> None:
    """Sites of one name by our code, a crew, a van, each answer; units by serial and place."""
    yard = yards.build()
    walk(yard)
    for number in range(2):
        twin: Yard = yard
        packing.plan_job(
            by=twin.mona.person,
            site=packing.open_site("=House  1", ""),
            date=datetime(2026, 12, 1 + number, tzinfo=UTC).date(),
            configuration=CONFIGURATION | {"ac_od": "unknown"},
            van=twin.firm.van,
            crew=[twin.tariq.person],
            leaves_at=datetime(2026, 12, 1 + number, 6, 10, tzinfo=UTC),
        )
    text = "site;item;place;batch;made on\nHouse O;CT-MODULE;1;B-7;2023-05-04\n"
    old = looking.look(KINDS["installed"], text.encode(), "a.csv", Choices(), None)
    file = running.keep(KINDS["installed"], "a.csv", Choices(), text.encode(), yard.mona.person)
    running.go_on(running.begin(file, old, change=True), yard.mona.person)
    surveying.describe(other := packing.open_site("House P", ""), CONFIGURATION, yard.mona.person)
    there = {"position": {"stack": 1, "level": 1}, "subject": f"site:{other.place.code}"}
    yard.mona.scan("find_standing", yard.label("F9"), **there)
    before = digest()

    told, states, jobs = handed("jobs", tmp_path / f"jobs.{ending}")
    assert (told, states) == (handing_out.HandedOut(3, ""), {"same"})
    stood, states, units = handed("installed", tmp_path / f"installed.{ending}")
    assert (stood.left_out, states) == ("", {"same"})
    assert digest() == before
    if ending == "csv":
        assert [job["van"] for job in jobs[1:]] == ["Van 1", "Van 1"]
        assert [job["ac od"] for job in jobs[1:]] == ["unknown", "unknown"]
        assert len({job["site"] for job in jobs}) == 3
        assert {"M1", "SPARE"} <= {unit["serial"] for unit in units}
        stood_before = [unit for unit in units if unit["site"] in ("House O", "House P")]
        names = ("serial", "batch", "made on", "fitted on")
        told_of = [tuple(unit[name] for name in names) for unit in stood_before]
        assert told_of == [("", "B-7", "2023-05-04", ""), ("F9", "", "", "")]
