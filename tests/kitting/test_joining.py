"""The charge before joining: which module it is of, by its label or by what its screen shows."""

from __future__ import annotations

from kitting.models import ChargeReading
from tests.kitting.test_unboxing import carry
from tests.kitting.yard import Yard, about
from tests.stories.counting_hands import Hands


def test_four_characters_name_the_module_unless_two_end_so(yard: Yard) -> None:
    """Never typed in full: the end is enough; of two alike the one whose label is scanned."""
    two = {"stacks": [{"modules": 4}], "before": {"stacks": [{"modules": 2}]}}
    kit = yard.kit(yard.job(job="expansion", **two))
    carry(yard, kit, "CM26-00188", "CX26-00188")

    def charge(text: str) -> str:
        done = yard.tariq.scan("charge", text, number=31, **about(kit))
        return f"{done.verdict}: {done.sentence}"

    yard.tariq.scan("unbox", "CM26-00188", **about(kit))
    assert charge("0188") == "applied: battery module CM26-00188 shows 31 %."
    yard.tariq.scan("unbox", "CX26-00188", **about(kit))
    assert charge("0188").startswith("stopped: More than one thing here ends so: ")
    assert charge("CX26-00188") == "applied: battery module CX26-00188 shows 31 %."
    assert charge("188").startswith("stopped")
    assert charge("9999").startswith("stopped")
    read = ChargeReading.objects.values_list("unit__serial", "event__scan__unit__serial")
    assert list(read) == [("CM26-00188", "CM26-00188"), ("CX26-00188", "CX26-00188")]
    page = Hands(yard.tariq.person).begin(f"/my/{kit.job.code}/fit").page
    assert "Last 4 of its serial, or scan its label" in page.words
