"""What codes ask of a place: every rule has its source, and the figures are the published ones."""

import re

import pytest

from kitting.plan import local_rules
from tests.plan.shipped import edition
from tests.reference.facts import ROWS

FIGURE = re.compile(r"\d+(?:/\d+)?")


@pytest.mark.parametrize("code", local_rules.codes())
def test_every_code_asks_and_labels(code):
    """At least one question for a person and one label or sign; each names who decides."""
    found = local_rules.rules(code)

    assert {True, False} == {rule.judged for rule in found}
    for rule in found:
        assert rule.kind in ("distance", "place", "label", "sign")
        assert (rule.judged, rule.asks.endswith("?")) in ((True, True), (False, False))
        assert all((rule.words.endswith("."), rule.source, rule.decides))
        assert len(rule.question) <= 400
        assert "safe" not in f"{rule.asks} {rule.words}".lower()


def test_the_figures_are_the_published_ones():
    """Each distance as facts.json has it: NFPA 855 3 ft, AS/NZS 5139 600 and 900 mm, PAS 63100 1
    and 2 m. The energies are those of NFPA 855 15.7.1: 20, 40, 80, 80 kWh."""
    facts = {row["id"]: row["value"] for row in ROWS}
    told = {
        code: [FIGURE.findall(rule.words) for rule in local_rules.rules(code) if rule.judged]
        for code in local_rules.codes()
    }

    def of(*names):
        return [str(facts[name]) for name in names]

    assert [of("store.pas.door"), of("store.pas.flamm")] == told["PAS 63100:2024"][1:3]
    around = of("store.5139.front", "store.5139.above")
    assert [of("store.5139.exit"), around] == told["AS/NZS 5139:2019"][:2]
    amended = of("store.5139.exit", "store.5139.wideexit")
    assert [amended, around] == told["AS/NZS 5139:2019 amended"][:2]
    energies = of(*(f"store.855.{place}" for place in ("unit", "closet", "attgarage", "outdoor")))
    for code in ("IRC 2021", "IRC 2024"):
        assert [of("store.855.space"), of("store.855.door"), [], energies] == told[code][:4]


def test_only_where_more_will_stand_and_the_list_does_not_ask():
    """Not at a removal; unknown codes ask nothing."""
    tower = edition("tower")

    assert local_rules.at("IRC 2024", tower, "new") == local_rules.rules("IRC 2024")
    assert local_rules.at("IRC 2024", tower, "removal") == ()
    assert local_rules.at("none", tower, "new") == ()
