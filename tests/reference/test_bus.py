"""Two terminators per bus, n - 1 links: ISO 11898-2 (CAN high speed) and TIA-485, by whole kits."""

import pytest

from kitting.plan import configuration, family, kit
from tests.plan.small import quantities, text
from tests.reference.engineering import ids, rows

CHAINS = rows("bus.chain.")
TERMINATORS = [*rows("bus.can.term"), *rows("bus.485.term")]
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


@pytest.mark.parametrize("row", CHAINS, ids=ids(CHAINS))
def test_a_chain_has_its_links_and_two_terminators(row):
    """Source: linear bus, n - 1 links and two terminators, ISO 11898-2 (row's source)."""
    links, terminators = chain(row["inputs"]["devices"], 0)

    assert {"links": links, "terminators": terminators} == row["value"]


@pytest.mark.parametrize("row", TERMINATORS, ids=ids(TERMINATORS))
@pytest.mark.parametrize("built_in", [0, 1, 2])
def test_built_in_ends_count(row, built_in):
    """Source: termination clause of ISO 11898-2 and TIA-485: brought and built in are two."""
    assert chain(4, built_in)[1] + built_in == row["value"]["count"]
