"""The families that ship use every way of counting and all that a family file can say."""

import pytest

from kitting.plan.ways import ways
from tests.plan.shipped import NAMES, edition


def rules(way):
    """Every shipped rule of a way, with its family."""
    return [(edition(name), one) for name in NAMES for one in edition(name).rules if one.way == way]


def fitted(measure):
    """Items chosen by a measure."""
    return [
        known.items[code]
        for known, one in rules("fit")
        if one.counting.measure == measure
        for code in one.counting.items()
    ]


def parts():
    return [item for name in NAMES for item in edition(name).items.values()]


def asked(*axes):
    """Rules with a condition on one of these questions, whichever family calls it so."""
    return [
        rule.name
        for name in NAMES
        for rule in edition(name).rules
        if {condition.name for condition in rule.when} & set(axes)
    ]


def tables(*by):
    return [one for _, one in rules("table") if one.counting.by == by]


def needs(need, of=""):
    """Rules that meet a need whose part holds a word."""
    return [
        rule.name
        for name in NAMES
        for rule in edition(name).rules
        if rule.need == need and any(of in one for one in rule.of or ("",))
    ]


def ends():
    return [one.counting for _, one in rules("bus_ends")]


def inside(get):
    return [found for found in ends() if get(found)]


USED = {
    "a table by modules": lambda: tables("modules"),
    "a table by stacks": lambda: tables("stacks"),
    "a table by height": lambda: tables("height"),
    "a table by stud pitch": lambda: tables("stud_pitch"),
    "a table of two ways": lambda: tables("modules", "stud_pitch"),
    "glands": lambda: [item for item in fitted("diameter") if item.thread],
    "reducers": lambda: [one for one in seats() if one[0] < one[1]],
    "enlargers": lambda: [one for one in seats() if one[0] > one[1]],
    "ready-made leads": lambda: fitted("length"),
    "drill bits by depth": lambda: fitted("depth"),
    "ferrules and lugs by size": lambda: fitted("core"),
    "ferrules and lugs by strands": lambda: asked("strands"),
    "blanks": lambda: needs("blank entry"),
    "a bus of all stacks": lambda: buses("system"),
    "a bus of each stack": lambda: buses("stack"),
    "ends built in by revision": lambda: inside(lambda end: end.built_in.by),
    "ends that are switched on": lambda: inside(lambda end: end.switchable),
    "copper by IEC": lambda: copper(awg=False),
    "copper by NEC": lambda: copper(awg=True),
    "a free way of the main board": lambda: asked("ways_free"),
    "earthing": lambda: asked("earthing"),
    "hand": lambda: [item for item in parts() if item.hand],
    "colour": lambda: [item for item in parts() if item.colour],
    "height variants": lambda: [o for _, o in rules("variant") if o.counting.measure == "height"],
    "renewed whole": lambda: [item for item in parts() if item.renew == "whole"],
    "renewed when opened": lambda: [item for item in parts() if item.renew == "opened joint"],
    "reused when freed": lambda: [item for item in parts() if item.reuse],
    "the wall": lambda: asked("wall", "bearing"),
    "the mount": lambda: asked("mount"),
    "surroundings": lambda: asked("place"),
    "seismic": lambda: asked("seismic", "zone"),
    "region": lambda: asked("region"),
    "edition of a code": lambda: asked("irc", "as5139"),
    "entry side": lambda: asked("entry_side", "swing"),
    "vehicles": lambda: asked("vehicle", "cars"),
    "tasks": lambda: [r for name in NAMES for r in edition(name).rules if r.task],
    "once for the job": lambda: [r for name in NAMES for r in edition(name).rules if r.once],
}


def seats():
    """(thread, hole) of every seat that some rule meets."""
    listed = [of for name in NAMES for r in edition(name).rules for of in r.of if " in M" in of]
    sizes = [of.replace("M", "").split(" in ") for of in listed]
    return [tuple(map(int, both)) for both in sizes if both[0].isdecimal()]


def buses(per):
    return [bus.name for name in NAMES for bus in edition(name).buses if bus.per == per]


def copper(awg):
    """Rules whose sizes are in AWG, or in mm2."""
    found = []
    for known, rule in rules("cable"):
        sizes = [known.items[code].conductor for code in rule.counting.items()]
        found += [rule.name] if all(bool(size.awg) is awg for size in sizes) else []
    return found


def test_every_way_has_a_rule():
    """A way that no family uses is not shown to work."""
    assert {rule.way for name in NAMES for rule in edition(name).rules} == set(ways())


@pytest.mark.parametrize("feature", USED)
def test_a_feature_has_its_user(feature):
    """What a family file can say is said by one that ships."""
    assert USED[feature]()
