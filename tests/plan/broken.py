"""Families with one fault each, their narrow bounds, and what is at fault."""

from tests.plan.breaking import (
    BUILT_IN,
    EACH,
    NOTHING,
    SEAM,
    anchors,
    changed,
    copper,
    covers,
    grid,
    insert,
    instead,
    item,
    leads,
    nested,
    number,
    row,
    rule,
    table,
    tubes,
)
from tests.plan.small import text

MORE = rule("again", "cover", NOTHING)
CUT = {"od": (110, 112), "run": (4000, 4000), "modules": (1, 2)}
"""Narrow bounds where nothing else is wanted."""
COLD = {**CUT, "modules": (1, 1), "warm": (30, 30)}
GREY, WHITE = 'colour = "grey"', 'colour = "white"'
THREE = "".join(
    rule(f"s{i}", "support cable", NOTHING, when)
    for i, when in enumerate(
        (
            'wall = ["brick"]',
            'wall = ["wood"], stacks = [1]',
            'wall = ["wood"], stacks = [2], run = { max = 6999 }',
        )
    )
)
SIDES = "[40, 120]"
# What is broken: (the family's text, its narrow bounds, the rules at fault).
BROKEN = {
    "a rule taken out": (text(without=("screws",)), CUT, {"anchor"}),
    "a gland that clamps a tenth less below": (
        changed(SIDES, "[41, 120]"),
        {**CUT, "od": (40, 43)},
        {"glands"},
    ),
    "a gland that clamps a tenth less above": (
        changed("[110, 200]", "[110, 199]"),
        {**CUT, "od": (197, 200)},
        {"glands"},
    ),
    "a tenth between two glands": (
        changed("[110, 200]", "[122, 200]"),
        {**CUT, "od": (118, 124)},
        {"glands"},
    ),
    "a need met twice": (text(more=MORE), CUT, {"no cover and again"}),
    "no locknut": (text(without=("nuts",)), {**CUT, "od": (119, 122)}, {"fit in hole", "glands"}),
    "no reducer": (text(without=("reducers",)), {**CUT, "od": (105, 112)}, {"glands"}),
    "no hole": (changed("count = 2\n\n", "count = 0\n\n"), CUT, {"blank entry"}),
    "only for three answers together": (
        text(without=("no support cable",), more=THREE),
        {**CUT, "modules": (1, 1), "stacks": (1, 2), "run": (6997, 7002)},
        {"support cable"},
    ),
    "a row left out of a table": (
        table([row("modules = 1"), row("modules = 3")]),
        {**CUT, "modules": (1, 3)},
        {"rows"},
    ),
    "one cell of a table named wrongly": (
        grid((1, "brick"), (2, "brick"), (3, "brick"), (1, "wood"), (3, "wood")),
        {**CUT, "modules": (1, 3)},
        {"rows"},
    ),
    "a table one millimetre short": (
        table([row("run = 4000"), row("run = 8999", 3)], '"run"', 'upto = ["run"]'),
        {**CUT, "modules": (1, 1), "run": (8996, 9000)},
        {"rows"},
    ),
    "a table that begins one too high": (
        table([row("run = 9000")], '"run"', 'upto = ["run"]\nfrom = 501'),
        {**CUT, "modules": (1, 1), "run": (500, 504)},
        {"rows"},
    ),
    "a millimetre between two conditions": (
        instead(
            "restrain",
            rule("low", "restrain", EACH, "run = { max = 6999 }"),
            rule("high", "restrain", EACH, "run = { min = 7001 }"),
        ),
        {**CUT, "modules": (1, 1), "run": (6997, 7003)},
        {"restrain"},
    ),
    "a millimetre under two conditions": (
        instead(
            "restrain",
            rule("low", "restrain", EACH, "run = { max = 7000 }"),
            rule("high", "restrain", EACH, "run = { min = 7000 }"),
        ),
        {**CUT, "modules": (1, 1), "run": (6997, 7003)},
        {"low and high"},
    ),
    "a condition on a question that is not always asked": (
        instead(
            "restrain",
            number("stud", 300, 600, when='wall = ["wood"]'),
            rule("studs", "restrain", EACH, "stud = { min = 300 }"),
        ),
        {**CUT, "stud": (300, 302)},
        {"restrain"},
    ),
    "bus ends counted twice in one corner": (
        text(
            more=rule(
                "more ends",
                "end the bus",
                'way = "bus_ends"\nplug = "term"\nbuilt_in = 0',
                'wall = ["wood"], modules = [2]',
            )
        ),
        CUT,
        {"ends and more ends"},
    ),
    "sets one millimetre short": (
        leads('["mid"], ["mid", "mid"]', "{ fixed = 1, run = 1 }", rule("c", "couple", EACH)),
        {**CUT, "modules": (1, 1), "run": (8997, 9000)},
        {"leads"},
    ),
    "sets short where a doubled run meets a gap": (
        leads('["mid", "mid"]', "{ run = 2, gap = 1 }", rule("c", "couple", EACH))
        + number("gap", 0, 20),
        {**CUT, "modules": (1, 1), "run": (4488, 4502), "gap": (0, 20)},
        {"leads"},
    ),
    "a seal short where cables and a gap meet": (
        insert("[[40, 60], [110, 200]]").replace(
            f'[[rule]]\nname = "no seal entry"\nneed = "seal entry"\n{BUILT_IN}\n', ""
        )
        + number("gap", 0, 60)
        + item("s0", "fits = { seam = [0, 22] }")
        + item("s1", "fits = { seam = [24, 99] }")
        + rule("seals of entries", "seal entry", SEAM),
        {**CUT, "modules": (1, 1), "od": (110, 110), "thin": (40, 40), "gap": (0, 60)},
        {"seals of entries"},
    ),
    "an anchor short six layers deep": (
        nested(6),
        {**CUT, "modules": (1, 1), "od": (110, 110), "covering": (0, 60)},
        {"fitb"},
    ),
    "a coupling that only the chained set wants": (
        leads('["mid"], ["mid", "mid"]'),
        {**CUT, "modules": (1, 1), "run": (4498, 4503)},
        {"couple"},
    ),
    "an anchor one millimetre short": (
        anchors(105),
        {**CUT, "modules": (1, 1), "covering": (36, 40)},
        {"anchors"},
    ),
    "an anchor that holds in one wall only": (
        anchors(120, '"brick"'),
        {**CUT, "modules": (1, 1), "covering": (0, 3)},
        {"anchors"},
    ),
    "a bit one millimetre short": (
        anchors(120, bit=99),
        {**CUT, "modules": (1, 1), "covering": (37, 40)},
        {"bits"},
    ),
    "an anchor short where two layers meet": (
        anchors(125, cavity=True),
        {**CUT, "modules": (1, 1), "covering": (36, 40), "gap": (16, 20)},
        {"anchors"},
    ),
    "an insert a tenth too narrow": (
        insert("[[40, 60], [110, 121]]"),
        {**CUT, "modules": (1, 1), "od": (119, 122), "thin": (40, 42)},
        {"inserts"},
    ),
    "an insert that fits no hole": (
        insert("[[40, 60], [110, 200]]", seat=False),
        {**CUT, "modules": (1, 1), "thin": (40, 41)},
        {"inserts"},
    ),
    "a colour that nobody sells": (covers(WHITE), CUT, {"covers"}),
    "two covers for one height": (
        covers(
            f"{WHITE}\nfits = {{ height = [0, 600] }}",
            f"{WHITE}\nfits = {{ height = [600, 900] }}",
            f"{GREY}\nfits = {{ height = [0, 900] }}",
            more='measure = "height"',
        ),
        {**CUT, "modules": (1, 3)},
        {"covers"},
    ),
    "a size of copper missing": (copper('"w6"'), {**COLD, "run": (6468, 6476)}, {"copper"}),
    "copper for a heat beyond the table": (
        copper('"w6", "w10"', '"warm"', 20),
        {**COLD, "warm": (57, 62)},
        {"copper"},
    ),
    "no ferrule for the larger size": (
        copper('"w6", "w10"', cores="[[100, 600]]"),
        {**COLD, "run": (6468, 6476)},
        {"ends of copper"},
    ),
    "a conduit one size short": (
        tubes(2),
        {**CUT, "modules": (1, 1), "circuits": (4, 8)},
        {"tubes"},
    ),
    "a lead one millimetre short": (
        instead(
            "connect inverter",
            item("lead", "fits = { run = [0, 8999] }"),
            rule("lead", "connect inverter", 'way = "fit"\nmeasure = "run"\nchoose = ["lead"]'),
        ),
        {**CUT, "modules": (1, 1), "run": (8997, 9000)},
        {"lead"},
    ),
    "a figure that falls to nothing": (
        instead(
            "restrain",
            rule(
                "fewer",
                "restrain",
                'way = "each"\nper = { fixed = 2, modules = -1 }\ngives = { screw = 1 }',
            ),
        ),
        {**CUT, "modules": (1, 3)},
        {"fewer"},
    ),
    "a step that the job has not": (
        changed('need = "seal joints"\nstep = "join"', 'need = "seal joints"\nstep = "down"'),
        CUT,
        {"seals"},
    ),
    "a limit widened without its row": (
        table([row("modules = 1"), row("modules = 2")]).replace(
            "max = 2\nwhen = { wall", "max = 3\nwhen = { wall", 1
        ),
        {**CUT, "modules": (1, 3)},
        {"rows"},
    ),
    "a rule for what is never there": (
        text(more='[[rule]]\nname = "moon"\nneed = "secure"\nof = "moon"\n' + NOTHING),
        {"stacks": (1, 2), "modules": (1, 2), "od": (108, 112), "run": (4000, 4000)},
        {"moon"},
    ),
}
