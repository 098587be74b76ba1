"""Conductors chosen by what the site answers, and the ends that follow them, in a whole family."""

from kitting.plan import configuration, family, kit, proof
from tests.plan.small import quantities, text

AXES = """
[[axis]]
name = "warm"
question = "How hot does it get around the cable?"
kind = "whole"
min = 30
max = 50

[[axis]]
name = "circuits"
question = "How many circuits lie together?"
kind = "whole"
min = 1
max = 3

[[item]]
code = "c4"
name = "cable 4"
tracking = "length"
mass_g = 120
conductor = { area = 4, class = 2 }
raises = [{ need = "terminate conductor", of = "power", count = 6 }]

[[item]]
code = "c6"
name = "cable 6"
tracking = "length"
mass_g = 170
conductor = { area = 6, class = 5 }
raises = [{ need = "terminate conductor", of = "power", count = 6 }]

[[item]]
code = "lug4"
name = "lug 4"
tracking = "count"
mass_g = 3
fits = { core = [250, 400] }

[[item]]
code = "lug6"
name = "lug 6"
tracking = "count"
mass_g = 3
fits = { core = [600, 600] }

[[item]]
code = "tube4"
name = "ferrule 4"
tracking = "supply"
mass_g = 1
fits = { core = [400, 400] }

[[item]]
code = "tube6"
name = "ferrule 6"
tracking = "supply"
mass_g = 1
fits = { core = [600, 600] }

[[rule]]
name = "power"
need = "run power"
step = "connect"
way = "cable"
sizes = ["c4", "c6"]
system = "single phase"
current = 20
voltage = 230
drop_permille = 30
method = "C"
ambient = "warm"
grouped = "circuits"
continuous = false

[[rule]]
name = "tubes"
need = "terminate conductor"
of = "power"
when = { strands = [5] }
way = "fit"
measure = "core"
choose = ["tube4", "tube6"]

[[rule]]
name = "lugs"
need = "terminate conductor"
of = "power"
when = { strands = [2] }
way = "fit"
measure = "core"
choose = ["lug4", "lug6"]
"""


def edition(more=AXES):
    return family.parse(text(without=("cables", "ferrules"), more=more), "small.toml")


def lines(warm, circuits, known=None):
    """Cable and ends of a kit, by item."""
    known = known or edition()
    data = {"family": "small", "stacks": [{"modules": 1}], "wall": "brick", "od": 130}
    data |= {"run": 4000, "warm": warm, "circuits": circuits}
    found = quantities(kit.work_out(known, configuration.parse(data, known)).lines)
    return {item: n for (item, step), n in found.items() if step == "connect"}


def test_ends_follow_the_conductor_that_was_chosen():
    """Stranded copper (class 2) takes lugs, flexible (class 5) ferrules, each of its size."""
    assert lines(30, 1) == {"c4": 4000, "lug4": 6}
    assert lines(50, 3) == {"c6": 4000, "tube6": 6}


def test_the_family_check_sees_heat_and_company_read():
    """46 x 0.71 x 0.70 = 22.9 A carry the 20 A anywhere; a ferrule missing for 6 mm2, chosen only
    in the heat beside others, is found with such a configuration."""
    assert proof.check(edition()).faults == []
    broken = edition(AXES.replace('"tube4", "tube6"', '"tube4"'))
    (fault,) = proof.check(broken).faults

    assert "nothing listed fits core 6 mm2" in fault.message
    assert lines(fault.example["warm"], fault.example["circuits"]) == {"c6": 4000, "tube6": 6}


def test_the_family_check_finds_the_corner_where_nothing_carries():
    """24 A: 46 x 0.79 x 0.70 = 25.4 A at 45 C, 22.9 A from 46 C on beside two others."""
    (fault,) = proof.check(edition(AXES.replace("current = 20", "current = 24"))).faults

    assert (fault.rule, fault.example["circuits"]) == ("power", 3)
    assert fault.example["warm"] == 46
    assert fault.message == (
        "run power: mains (system): no listed conductor carries 24 A over 500 mm with 6.9 V of"
        " drop; 6 mm2 carries 46 A x 0.71 at 46 C x 0.7 for 3 circuits together = 22.862 A and"
        " keeps the drop up to 36406 mm"
    )
