"""What holds for every legal configuration of the families that ship; five more in five_laws."""

import hypothesis
import pytest
from hypothesis import strategies

from kitting.plan import breakpoints, configuration, kit, space
from tests.counts import counts
from tests.plan.shipped import NAMES, edition

RUNS = hypothesis.settings(
    max_examples=counts(60, 600), deadline=None, derandomize=True, database=None
)
SEEDS = strategies.integers(0, 10**9)


def drawn(name, seed, shape=None, **answers):
    known = edition(name)
    return configuration.parse({**space.by_chance(known, seed, shape), **answers}, known)


@pytest.mark.parametrize("name", NAMES)
@RUNS
@hypothesis.given(seed=SEEDS)
def test_every_legal_configuration_has_a_whole_kit(name, seed):
    """Nothing is refused, nothing is open, each line has a reason, a step and a quantity."""
    known = edition(name)
    found = kit.work_out(known, drawn(name, seed))
    steps = {step.key for step in found.steps}

    assert (found.refused, found.unresolved) == ((), ())
    assert len({(line.item, line.step) for line in found.lines}) == len(found.lines) > 40
    for line in found.lines:
        assert line.quantity > 0
        assert line.step in steps
        assert line.reasons
        assert all(reason.arithmetic for reason in line.reasons)
        assert not line.pieces or sum(line.pieces) == line.quantity


@pytest.mark.parametrize("name", NAMES)
@RUNS
@hypothesis.given(seed=SEEDS)
def test_the_same_input_gives_the_same_kit(name, seed):
    """Worked out twice, once from what the first told of its configuration."""
    known = edition(name)
    first = kit.work_out(known, drawn(name, seed))
    again = kit.work_out(known, configuration.parse(first.as_snapshot()["configuration"], known))

    assert first.as_snapshot() == again.as_snapshot()


@pytest.mark.parametrize("name", NAMES)
@RUNS
@hypothesis.given(seed=SEEDS)
def test_a_longer_run_never_takes_less_cable(name, seed):
    """Each length axis made longer: the cut lengths grow, and each stays one piece."""
    known = edition(name)
    now = drawn(name, seed).as_json()
    for axis in known.axes.values():
        if axis.kind != "length" or not axis.name.endswith("_run"):
            continue
        longer = {**now, axis.name: min(axis.high, now[axis.name] + 700)}
        short, long = (
            kit.work_out(known, configuration.parse(given, known)).lines for given in (now, longer)
        )
        total = [sum(len(line.pieces) for line in lines) for lines in (short, long)]
        length = [sum(sum(line.pieces) for line in lines) for lines in (short, long)]
        assert length[0] <= length[1]
        assert total[0] == total[1]


@pytest.mark.parametrize("name", NAMES)
def test_break_points_are_the_family_s_own(name):
    """Each number axis is walked at its bounds and on both sides of each figure of the edition."""
    known = edition(name)
    for axis in known.axes.values():
        walked = breakpoints.walked(known, axis)
        if axis.kind in ("length", "diameter"):
            assert {axis.low, axis.high} <= set(walked)
    tower = breakpoints.walked(edition("tower"), edition("tower").axes["ac_od"])

    assert {120, 121, 175, 176, 141, 142, 186, 187} <= set(tower)
    run = breakpoints.walked(edition("tower"), edition("tower").axes["ac_run"])
    assert {5066, 5067, 5068, 8101, 8102} <= set(run)
