"""What families with a fault are made of: the small family with rules of its own for one need."""

import json

from tests.plan.small import text


def rule(name, need, body, when=""):
    asked = f"when = {{ {when} }}\n" if when else ""
    return f'[[rule]]\nname = "{name}"\nneed = "{need}"\nstep = "fix"\n{asked}{body}\n'


def number(name, low, high, kind="length", when=""):
    asked = f"when = {{ {when} }}\n" if when else ""
    return (
        f'[[axis]]\nname = "{name}"\nquestion = "How much?"\nkind = "{kind}"\n'
        f"min = {low}\nmax = {high}\n{asked}"
    )


def choice(name, *values):
    listed = ", ".join(f'"{value}"' for value in values)
    return f'[[axis]]\nname = "{name}"\nquestion = "Which?"\nkind = "choice"\nvalues = [{listed}]\n'


def item(code, more="", tracking="count"):
    head = f'[[item]]\ncode = "{code}"\nname = "{code}"\ntracking = "{tracking}"\nmass_g = 5\n'
    return f"{head}{more}\n"


NOTHING = 'way = "built_in"\nwhy = "no"'
EACH = 'way = "each"\ngives = { screw = 1 }'


def instead(need, *more, **changes):
    """The small family with rules of its own for one need that it has no use for."""
    without = (f"no {need}", *changes.pop("without", ()))
    return text(without=without, more="\n".join(more), **changes)


def changed(old, new, **changes):
    found = text(**changes)
    assert old in found
    return found.replace(old, new, 1)


def anchors(longest, holds='"brick", "wood"', bit=200, cavity=False):
    """Restraints are anchored through one layer or two; the hole wants a bit as deep."""
    front = '{ thickness = "covering" }, ' + ('{ thickness = "gap" }, ' if cavity else "")
    hold = f"hole = 10, embed = 60, behind = 30, holds = [{holds}]"
    return instead(
        "restrain",
        number("covering", 0, 40),
        number("gap", 0, 20) if cavity else "",
        item("a80", f"anchor = {{ length = 80, {hold} }}"),
        item("a120", f"anchor = {{ length = {longest}, {hold} }}"),
        item("bit", f"fits = {{ depth = [0, {bit}] }}", "tool"),
        rule(
            "anchors",
            "restrain",
            f'way = "anchor"\nfixture = 6\nchoose = ["a80", "a120"]\n'
            f'layers = [{front}{{ material = "wall", thickness = 200 }}]',
        ),
        rule("bits", "drill", 'way = "fit"\nmeasure = "depth"\nchoose = ["bit"]\nonce = true'),
    )


def table(rows, by='"modules"', more="", extra=""):
    body = f'way = "table"\nby = [{by}]\n{more}\nrows = [{", ".join(rows)}]'
    return instead("restrain", extra, rule("rows", "restrain", body))


def row(key, screws=2):
    return f"{{ {key}, gives = {{ screw = {screws} }} }}"


def grid(*cells):
    return table([row(f'modules = {m}, wall = "{w}"') for m, w in cells], '"modules", "wall"')


def leads(sets, path="{ run = 1 }", more=""):
    body = f'way = "allowed_sets"\npath = {path}\nlengths = {{ long = 9000, mid = 4500 }}\n'
    couples = 'couples = { need = "couple", of = "lead" }'
    rules = rule("leads", "connect inverter", f"{body}sets = [{sets}]\n{couples}")
    return instead("connect inverter", item("long"), item("mid"), rules, more)


def insert(holes, seat=True):
    """A second cable comes in through one hole with the first."""
    second = (
        '[[run]]\nname = "data"\nneed = "run data"\nper = "system"\nlength = "run"\n'
        'diameter = "thin"\nsupported = false\n'
        '[[entry]]\nname = "both"\nhole = "side"\nruns = ["mains", "data"]\n'
    )
    found = instead(
        "run data",
        second,
        number("thin", 40, 44, "diameter"),
        item("two", f'holes = {holes}\nthread = "{"M25" if seat else "M16"}"'),
        item("pin"),
        rule("inserts", "enter cable", 'way = "insert"\nchoose = ["two"]\npin = "pin"'),
        rule("data", "run data", 'way = "length"\nitem = "cable"'),
        without=("glands",),
    )
    return found.replace('diameter = "od"\nhole = "side"', 'diameter = "od"', 1)


def covers(*listed, more=""):
    found = [item(f"c{i}", one) for i, one in enumerate(listed)]
    codes = ", ".join(f'"c{i}"' for i in range(len(listed)))
    body = f'way = "variant"\nchoose = [{codes}]\nby = {{ colour = "finish" }}\n{more}'
    return instead(
        "cover", choice("finish", "white", "grey"), *found, rule("covers", "cover", body)
    )


def copper(largest, ambient=30, current=45, cores="[[100, 600], [601, 1000]]"):
    """The run in copper by current and drop, its ends by core."""
    sizes = "".join(
        item(f"w{area}", f"conductor = {{ area = {area}, class = 5 }}\n" + RAISES, "length")
        for area in (6, 10)
    )
    ends = "".join(
        item(f"f{i}", f"fits = {{ core = {one} }}", "supply")
        for i, one in enumerate(json.loads(cores))
    )
    listed = ", ".join(f'"f{i}"' for i in range(len(json.loads(cores))))
    return text(
        without=("cables", "ferrules"),
        more=sizes
        + ends
        + number("warm", 30, 62, "whole")
        + rule(
            "copper",
            "run power",
            f'way = "cable"\nsizes = [{largest}]\nsystem = "single phase"\ncurrent = {current}\n'
            f'continuous = false\nvoltage = 230\ndrop_permille = 10\nmethod = "C"\nallowance = 0\n'
            f"ambient = {ambient}",
        )
        + rule(
            "ends of copper",
            "terminate conductor",
            f'way = "fit"\nmeasure = "core"\nchoose = [{listed}]',
        ),
    )


RAISES = 'raises = [{ need = "terminate conductor", of = "copper", count = 2 }]'


def tubes(largest):
    """As many cables in one conduit as the site has circuits."""
    kinds = {"1/2": "", "3/4": "", "1": ""}
    listed = [
        item(f"t{i}", f'conduit = {{ kind = "EMT", trade = "{trade}" }}')
        for i, trade in enumerate(kinds)
    ]
    codes = ", ".join(f'"t{i}"' for i in range(largest))
    return instead(
        "enclose cable",
        number("circuits", 1, 12, "whole"),
        item("wire", 'conductor = { awg = "8", class = 2, insulation = "THWN-2" }', "supply"),
        *listed,
        rule(
            "wires",
            "run power",
            'way = "each"\nper = { circuits = 1 }\ngives = { wire = 1 }',
        ),
        rule("tubes", "enclose cable", f'way = "conduit"\ncables = ["wire"]\nchoose = [{codes}]'),
        without=("cables", "ferrules"),
    )


def nested(deep):
    """Anchors that raise one another, each a layer further in; a bit is lacking at one depth."""
    found = [
        number("covering", 0, 60),
        item("bit", f"fits = {{ depth = [0, {deep * 10 + 31}] }}", "tool"),
        item("bit2", f"fits = {{ depth = [{deep * 10 + 33}, 9999] }}", "tool"),
        rule("drilled", "drill", NOTHING),
    ]
    hold = 'length = 500, hole = 10, embed = 10, behind = 0, holds = ["brick", "wood"]'
    for i in range(deep):
        raised = f'raises = [{{ need = "secure", of = "s{i + 1}", count = 1 }}]'
        front = "depth" if i else "covering"
        body = f'of = "s{i}"\n' if i else ""
        body += (
            f'way = "anchor"\nfixture = 0\nchoose = ["a{i}"]\nlayers = [{{ thickness = "{front}" }}'
        )
        body += ', { material = "wall", thickness = 2000 }]'
        found.append(item(f"a{i}", f"anchor = {{ {hold} }}\n{raised}"))
        found.append(rule(f"an{i}", "secure" if i else "restrain", body))
    bits = f'of = "s{deep}"\nway = "fit"\nmeasure = "depth"\nchoose = ["bit", "bit2"]'
    return instead("restrain", *found, rule("fitb", "secure", bits))


SEAM = 'way = "fit"\nmeasure = "seam"\nvalue = { cables = 10, gap = 1 }\nchoose = ["s0", "s1"]'
BUILT_IN = 'way = "built_in"\nwhy = "nothing here"'
