"""A family small enough to read at a glance, and one way of counting by itself."""

import tomllib

from kitting.plan import configuration, family, items, kit
from kitting.plan.given import Book, Demand, Task
from kitting.plan.reading import Table
from kitting.plan.site import Scope, Site
from kitting.plan.ways import ways

HEAD = """
[family]
name = "small"
title = "Small"
edition = 2026-11-01
status = "released"
arrangement = "tower"
revisions = ["A", "B"]
expands_from = "B"

[stacks]
min = 1
max = 2
modules_min = 1
modules_max = 3

[topology]
joint_with_base = true
joint_with_head = true
link_with_head = true

[[shape]]
kind = "module"
width = 600
height = 300
depth = 200
item = "module"

[[axis]]
name = "wall"
question = "What is the wall?"
kind = "choice"
values = ["brick", "wood"]

[[axis]]
name = "od"
question = "How thick is the cable?"
kind = "diameter"
min = 40
max = 200
unknown = true

[[axis]]
name = "run"
question = "How long is the way?"
kind = "length"
min = 500
max = 9000

[[limit]]
name = "two high on wood"
message = "wood carries two modules"
measure = "modules"
max = 2
when = { wall = ["wood"] }

[[mixing]]
revisions = ["A", "B"]
verdict = "barred"
message = "A and B do not stand together"

[[hole]]
name = "side"
thread = "M25"
count = 2

[[run]]
name = "mains"
need = "run power"
per = "system"
length = "run"
diameter = "od"
hole = "side"

[[bus]]
name = "bus"
per = "stack"
"""
STEPS = ("look", "base", "fix", "join", "end", "connect", "gland", "seal", "cover", "down")
ITEMS = """
[[item]]
code = "module"
name = "module"
tracking = "serial"
mass_g = 30000

[[item]]
code = "bracket"
name = "bracket"
tracking = "count"
mass_g = 400
raises = [{ need = "anchor", of = "wall", count = 2 }]

[[item]]
code = "plug"
name = "plug"
tracking = "count"
mass_g = 9

[[item]]
code = "screw"
name = "screw"
tracking = "lot"
mass_g = 9

[[item]]
code = "seal"
name = "seal"
tracking = "count"
mass_g = 4
renew = "opened joint"

[[item]]
code = "term"
name = "end plug"
tracking = "count"
mass_g = 4
reuse = true

[[item]]
code = "cable"
name = "cable"
tracking = "length"
mass_g = 300
raises = [{ need = "terminate conductor", of = "6 mm2", count = 6 }]

[[item]]
code = "ferrule"
name = "ferrule"
tracking = "supply"
mass_g = 1

[[item]]
code = "g20"
name = "gland M20"
tracking = "count"
mass_g = 20
thread = "M20"
fits = { diameter = [40, 120] }

[[item]]
code = "g25"
name = "gland M25"
tracking = "count"
mass_g = 20
thread = "M25"
fits = { diameter = [110, 200] }

[[item]]
code = "reducer"
name = "reducer"
tracking = "count"
mass_g = 20
raises = [{ need = "fit in hole", of = "M25 in M25", count = 1 }]

[[item]]
code = "nut"
name = "locknut"
tracking = "count"
mass_g = 20

[[item]]
code = "driver"
name = "driver"
tracking = "tool"
mass_g = 900
"""
RULES = (
    ("modules", 'need = "place module"\nstep = "look"\nway = "each"\ngives = { module = 1 }'),
    ("brackets", 'need = "fix to wall"\nstep = "fix"\nway = "each"\ngives = { bracket = 1 }'),
    (
        "plugs",
        (
            'need = "anchor"\nof = "wall"\nwhen = { wall = ["brick"] }\nway = "each"\n'
            "gives = { plug = 1, screw = 1 }"
        ),
    ),
    (
        "screws",
        (
            'need = "anchor"\nof = "wall"\nwhen = { wall = ["wood"] }\nway = "each"\n'
            "gives = { screw = 1 }"
        ),
    ),
    ("seals", 'need = "seal joints"\nstep = "join"\nway = "each"\ngives = { seal = 1 }'),
    ("ends", 'need = "end the bus"\nstep = "end"\nway = "bus_ends"\nplug = "term"\nbuilt_in = 1'),
    ("cables", 'need = "run power"\nstep = "connect"\nway = "length"\nitem = "cable"'),
    ("ferrules", 'need = "terminate conductor"\nway = "each"\ngives = { ferrule = 1 }'),
    (
        "glands",
        (
            'need = "enter cable"\nstep = "gland"\nway = "fit"\nmeasure = "diameter"\n'
            'choose = ["g20", "g25"]'
        ),
    ),
    ("reducers", 'need = "fit in hole"\nof = "M20 in M25"\nway = "each"\ngives = { reducer = 1 }'),
    ("nuts", 'need = "fit in hole"\nof = "M25 in M25"\nway = "each"\ngives = { nut = 1 }'),
    ("driver", 'need = "tools"\nof = "fix"\nstep = "fix"\nway = "each"\ngives = { driver = 1 }'),
)
NOTHING = (
    *("place head", "stand", "restrain", "join units", "link power", "link data", "tie stacks"),
    *("connect stacks", "blank ports", "connect inverter", "run data", "run earth", "bond"),
    *("seal entry", "support cable", "enclose cable", "blank entry", "protect and isolate"),
    *("cover", "label", "dispense", "lift", "clean", "gear", "cap ports", "pack unit"),
    "make good",
)
TOOLS = ", ".join(f'"{step}"' for step in STEPS if step != "fix")


def text(without=(), more="", status="released"):
    """The small family; `without` rules of these names, `more` tables at the end."""
    rules = [f'[[rule]]\nname = "{n}"\n{body}\n' for n, body in RULES if n not in without]
    nothing = [
        f'[[rule]]\nname = "no {need}"\nneed = "{need}"\nway = "built_in"\nwhy = "nothing here"\n'
        for need in NOTHING
        if f"no {need}" not in without
    ]
    tools = f'[[rule]]\nname = "no tools"\nneed = "tools"\nof = [{TOOLS}]\n'
    tools += 'way = "built_in"\nwhy = "hands"\n'
    steps = [f'[[step]]\nkey = "{step}"\ntitle = "{step}"\n' for step in STEPS]
    head = HEAD.replace('"released"', f'"{status}"')
    return "\n".join([head, *steps, ITEMS, *rules, *nothing, tools, more])


def edition(**changes):
    """The small family, read."""
    return family.parse(text(**changes), "small.toml")


def given(**answers):
    """A configuration of the small family."""
    usual = {"family": "small", "stacks": [{"modules": 2}], "wall": "brick", "od": 130, "run": 4000}
    return {**usual, **answers}


def work_out(known=None, **answers):
    """A kit of the small family."""
    known = known or edition()
    return kit.work_out(known, configuration.parse(given(**answers), known))


def quantities(lines):
    """(item, step) -> quantity."""
    return {(line.item, line.step): line.quantity for line in lines}


BOLT = {"code": "bolt", "name": "bolt", "tracking": "count", "mass_g": 1}


def way(name, rule, listed=(), seats=()):
    """One way of counting by itself: (the way or None, its faults, its book)."""
    faults = []
    known = [items.parse(Table(one, "items", faults)) for one in ({**BOLT}, *listed)]
    names = {
        *("modules", "stacks", "height", "run", "length", "diameter", "depth", "gap", "wall"),
        *(
            "covering",
            "plaster",
            "bearing_mm",
            "side",
            "finish",
            "head_rev",
            "stud",
            "warm",
            "circuits",
        ),
    }
    book = Book({item.code: item for item in known}, names, frozenset(seats))
    table = Table(tomllib.loads(rule), "rule", faults)
    table.taken.add("step")  # read by the rule around it
    found = ways()[name](table, book)
    table.finish()
    return found, [str(fault) for fault in faults], book


def counted(name, rule, listed=(), seats=(), number=1, lines=None, beside=None, **measures):
    """What one way gives for one need: {item: quantity}, and the givings themselves."""
    found, faults, book = way(name, rule, listed, seats)
    assert faults == []
    demand = Demand("cover", "", ("cover", "", "system"), number, measures, "", "")
    scope = Scope(Site((1,), {}, "new"), measures)
    there, pieces = lines or {}, beside or {}
    task = Task(demand, scope, book, lambda i: there.get(i, []), lambda i: pieces.get(i, 0))
    givings = found.count(task)
    return {given.item: given.quantity for given in givings}, givings


def thing(code, **more):
    """An item as a family file would have it."""
    return {"code": code, "name": code, "tracking": "count", "mass_g": 1, **more}
