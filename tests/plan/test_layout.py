"""Boxes for the drawing: every unit, lead and bracket of the kit, none over another."""

import itertools

import pytest

from kitting.plan import configuration, kit, layout
from tests.plan.shipped import NAMES, edition, hand

CASES = [(n, k) for n in NAMES for k, given in hand(n).items() if given["job"] == "new"]


def drawn(name, key):
    known = edition(name)
    data = configuration.parse(hand(name)[key], known)
    return known, data, layout.boxes(known, data)


@pytest.mark.parametrize(("name", "key"), CASES)
def test_every_unit_lead_and_bracket_is_drawn(name, key):
    """As many boxes of an item as the kit takes of it."""
    known, data, boxes = drawn(name, key)
    shown = [code for code, item in known.items.items() if item.draw not in ("", "base", "cap")]
    taken = dict.fromkeys(shown, 0)
    for line in kit.work_out(known, data).lines:
        if line.item in taken:
            taken[line.item] += line.quantity

    assert taken == {code: sum(box.item == code for box in boxes) for code in shown}
    assert sum(box.kind == "unit" for box in boxes) == sum(data.shape)


@pytest.mark.parametrize(("name", "key"), CASES)
def test_no_box_lies_over_another(name, key):
    """Each box has its own place in positive millimetres, and its own key."""
    boxes = drawn(name, key)[2]

    assert len({box.key for box in boxes}) == len(boxes)
    assert min(box.x for box in boxes) == min(box.y for box in boxes) == 0
    for one, other in itertools.combinations(boxes, 2):
        apart = one.x + one.w <= other.x or other.x + other.w <= one.x
        apart |= one.y + one.h <= other.y or other.y + other.h <= one.y
        assert apart, (one, other)


def test_a_tower_grows_upwards():
    """Level 2 stands on level 1, and the head on all of them."""
    boxes = {box.key: box for box in drawn("tower", "T02")[2]}
    first, second, head = boxes["unit-1-1"], boxes["unit-1-2"], boxes["head-1-3"]

    assert first.y == second.y + second.h
    assert second.y == head.y + head.h
    assert boxes["base-1-1"].y == first.y + first.h


def test_a_row_grows_from_the_wall():
    """Level 2 stands behind level 1, which stands at the plate."""
    boxes = {box.key: box for box in drawn("row", "R01")[2]}
    first, second = boxes["unit-1-1"], boxes["unit-1-2"]

    assert boxes["base-1-1"].x + boxes["base-1-1"].w == first.x
    assert first.x + first.w == second.x
