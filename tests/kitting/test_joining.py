"""The charge before joining: which module it is of, by its label or by what its screen shows."""

from __future__ import annotations

from inventory import return_lists
from inventory.models import Finding
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


def test_a_charge_that_fits_again_ends_what_was_said_of_the_others(yard: Yard) -> None:
    """One was read too high, so the next was too far from it; the first read again, both are right.

    No maker is asked for another one because of it.
    """
    two = {"stacks": [{"modules": 4}], "before": {"stacks": [{"modules": 2}]}}
    kit = yard.kit(yard.job(job="expansion", **two))
    carry(yard, kit, "N1", "N2")
    for serial, percent in (("N1", 41), ("N2", 30)):
        yard.tariq.scan("unbox", serial, **about(kit))
        assert yard.tariq.scan("charge", serial, number=percent, **about(kit)).verdict == "problem"
    told = Finding.objects.filter(event__step="charge")
    assert [one.about for one in return_lists.asked_of(told).values()] == ["", ""]
    assert yard.tariq.scan("charge", "N1", number=31, **about(kit)).verdict == "applied"

    assert list(told.order_by("pk").values_list("answer__words", flat=True)) == [
        "It was read again: 31 %.",
        "battery module N1 was read again: 31 %.",
    ]


def test_an_empty_module_stays_a_problem_when_another_is_read(yard: Yard) -> None:
    """0 % is a charge that was read, not one that nobody entered."""
    two = {"stacks": [{"modules": 4}], "before": {"stacks": [{"modules": 2}]}}
    kit = yard.kit(yard.job(job="expansion", **two))
    carry(yard, kit, "N1", "N2")
    for serial, percent in (("N1", 0), ("N2", 30)):
        yard.tariq.scan("unbox", serial, **about(kit))
        yard.tariq.scan("charge", serial, number=percent, **about(kit))
    empty = Finding.objects.get(event__step="charge", unit__serial="N1")
    assert getattr(empty, "answer", None) is None
