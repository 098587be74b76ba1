"""Each cable run as a crew lays it, from the same needs as the kit."""

from collections import Counter

import pytest

from kitting.plan import configuration, kit, runs
from kitting.plan.needs import RUN_NEEDS
from tests.plan.shipped import NAMES, edition, hand

MAINS = {"ac_run": 9200, "ac_way": "conduit", "place": "outdoor", "vehicle": "none"}


def laid(name, given):
    family = edition(name)
    return runs.runs(family, configuration.parse(given, family))


@pytest.mark.parametrize("name", NAMES)
def test_the_runs_hold_every_cable_of_the_kit(name):
    """Item by item as much as the lines have for runs, in every hand-worked new kit."""
    family = edition(name)
    for given in hand(name).values():
        asked = configuration.parse(given, family)
        worked = kit.work_out(family, asked)
        if given["job"] != "new" or worked.unresolved:
            continue
        lines = Counter()
        for line in worked.lines:
            if any(reason.need.partition(":")[0] in RUN_NEEDS for reason in line.reasons):
                lines[line.item] += line.quantity
        found = Counter()
        for run in runs.runs(family, asked):
            for part in run.cables:
                found[part.item] += part.quantity
            cut = [part.quantity for part in run.cables if part.unit == "mm"]
            assert sum(cut) == sum(run.pieces)
        assert lines == found


def test_a_run_tells_its_way_its_ends_and_its_entry():
    """9.2 m of conduit, 10.2 m of cable in one piece, six ferrules, a reducer from M32."""
    given = hand("tower")["T01"] | MAINS | {"ac_od": 120}
    (mains,) = [run for run in laid("tower", given) if run.of == "mains"]

    assert (mains.step, mains.way, mains.pieces, mains.diameter) == ("connect", 9200, [10200], 120)
    assert [part.name for part in mains.ends] == ["ferrule 10"]
    assert "reducer M32 to M25" in [part.name for part in mains.entries]
    assert ("CT-CON25", 9200) in [(part.item, part.quantity) for part in mains.path]


def test_a_diameter_not_known_is_none():
    """Before the cover is off nobody knows it."""
    given = hand("tower")["T01"] | {"ac_od": "unknown"}

    assert [run.diameter for run in laid("tower", given) if run.of == "mains"] == [0]


def test_only_what_the_kit_brings_is_shown():
    """An expansion that lays no data cable tells no data run."""
    found = laid("tower", hand("tower")["T01"])

    assert [run.of for run in runs.met_by(found, {"CT-DPLUG"})] == ["data"]
