"""k pieces for each need, or for each started stretch of a figure."""

import pytest

from tests.plan.small import counted, way


@pytest.mark.parametrize(
    ("rule", "measures", "number", "wanted"),
    [
        # the plain case: per need
        ("gives = { bolt = 4 }", {}, 3, {"bolt": 12}),
        # a figure instead of the need's own count
        ('gives = { bolt = 2 }\nper = "modules"', {"modules": 5}, 1, {"bolt": 10}),
        # a started stretch counts whole
        ('gives = { bolt = 1 }\nper = "length"\nevery = 400', {"length": 401}, 1, {"bolt": 2}),
        # a whole stretch counts once
        ('gives = { bolt = 1 }\nper = "length"\nevery = 400', {"length": 400}, 1, {"bolt": 1}),
        # a linear figure
        ("gives = { bolt = 1 }\nper = { fixed = 1, modules = 2 }", {"modules": 3}, 1, {"bolt": 7}),
        # nothing to count gives no line
        ('gives = { bolt = 1 }\nper = "length"\nevery = 400', {"length": 0}, 1, {}),
    ],
)
def test_each_multiplies(rule, measures, number, wanted):
    """The number is k per need or per started stretch."""
    assert counted("each", rule, number=number, **measures)[0] == wanted


def test_each_says_its_arithmetic():
    """A division that is rounded up is told as one."""
    _, givings = counted("each", 'gives = { bolt = 2 }\nper = "length"\nevery = 400', length=900)

    assert givings[0].words == "900 / 400, rounded up = 3; 3 x 2 bolt = 6"


@pytest.mark.parametrize(
    ("rule", "fault"),
    [
        ("gives = { bolt = 0 }", "rule: gives: bolt: expected a whole number from 1 to"),
        ("gives = { bolt = -3 }", "rule: gives: bolt: expected a whole number from 1 to"),
        ("gives = { bolt = 99999999999 }", "expected a whole number from 1 to 10000000"),
        ("gives = {}", "rule: gives: expected at least one entry, got none"),
        ("gives = { bolt = 1 }\nevery = 4", "rule: per: expected a figure to divide by every"),
        ('gives = { bolt = 1 }\nper = "moon"', "expected a number, a known name or factors"),
    ],
)
def test_each_refuses(rule, fault):
    """A number that is none, or too large, is a fault with its key."""
    assert fault in way("each", rule)[1][0]
