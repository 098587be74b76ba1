"""So many per other line, each step on its own."""

from tests.plan.small import counted, thing, way

TIES = 'per = ["bolt"]\nevery = 300\ngives = { tie = 2 }'
TIE = [thing("tie")]


def test_per_line_rounds_each_line_up():
    """A started stretch of each line counts, step by step."""
    lines = {"bolt": [("fix", 301), ("join", 300)]}
    wanted = [("tie", 4, "fix"), ("tie", 2, "join")]

    _, givings = counted("per_line", TIES, TIE, lines=lines)

    assert [(given.item, given.quantity, given.step) for given in givings] == wanted


def test_per_line_counts_one_for_one():
    """Without `every` each base unit counts."""
    lines = {"bolt": [("fix", 7)]}

    quantities, _ = counted("per_line", 'per = ["bolt"]\ngives = { tie = 4 }', TIE, lines=lines)

    assert quantities == {"tie": 28}


def test_per_line_keeps_its_own_step():
    """A rule that names a step puts all there."""
    lines = {"bolt": [("fix", 7)]}

    _, givings = counted("per_line", TIES + '\nstep = "seal"', TIE, lines=lines)

    assert givings[0].step == ""


def test_per_line_of_nothing_is_nothing():
    """Where there is no such line nothing is wanted."""
    assert counted("per_line", TIES, TIE)[0] == {}


def test_per_line_of_an_unknown_item_is_a_fault():
    """A misspelt item is told with its key."""
    faults = way("per_line", 'per = ["moon"]\ngives = { bolt = 1 }')[1]

    assert faults == ["rule: per: expected one of bolt, got 'moon'"]
