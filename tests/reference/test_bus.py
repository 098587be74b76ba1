"""Two terminators per bus, n - 1 links: ISO 11898-2 (CAN high speed) and TIA-485, by whole kits."""

import pytest

from kitting.plan import configuration, family, kit
from tests.plan.small import quantities, text
from tests.reference.facts import cells, check, each, used

CHAINS = cells("bus.chain.")
TERMINATORS = [*cells("bus.can.term"), *cells("bus.485.term")]
LEAD = """
[[item]]
code = "lead"
name = "data lead"
tracking = "count"
mass_g = 30
[[rule]]
name = "leads"
need = "link data"
step = "join"
way = "each"
gives = { lead = 1 }
"""


@each(used("buses"))
def test_row(row):
    """The product gives the published value within its tolerance."""
    check(row)


@each(cells("bus.eth"))
def test_a_channel_is_its_link_and_its_cords(row):
    """ANSI/TIA-568: 100 m of channel are 90 m of permanent link and 10 m of cords."""
    lengths = {one["inputs"]["part"]: one["value"] for one in cells("bus.eth")}

    assert lengths["channel"] == lengths["permanent_link"] + lengths["cords"]
    check(row)


def chain(devices, built_in):
    """The kit of one chain of devices: (links, terminators to bring)."""
    whole = text(without=("no link data",), more=LEAD)
    whole = whole.replace("built_in = 1", f"built_in = {built_in}")
    whole = whole.replace("link_with_head = true", "link_with_head = false")
    known = family.parse(whole.replace("modules_max = 3", "modules_max = 9"), "chain.toml")
    data = {"family": "small", "wall": "brick", "od": 130, "run": 4000}
    data["stacks"] = [{"modules": devices}]
    found = kit.work_out(known, configuration.parse(data, known))
    assert found.refused == ()
    taken = quantities(found.lines)
    return taken.get(("lead", "join"), 0), taken.get(("term", "end"), 0)


@each(CHAINS)
def test_a_chain_has_its_links_and_two_terminators(row):
    """Source: linear bus, n - 1 links and two terminators, ISO 11898-2 (row's source)."""
    links, terminators = chain(row["inputs"]["devices"], 0)

    assert {"links": links, "terminators": terminators} == row["value"]


@each(TERMINATORS)
@pytest.mark.parametrize("built_in", [0, 1, 2])
def test_built_in_ends_count(row, built_in):
    """Source: termination clause of ISO 11898-2 and TIA-485: brought and built in are two."""
    assert chain(4, built_in)[1] + built_in == row["value"]["count"]
