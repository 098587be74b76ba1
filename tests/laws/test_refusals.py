"""No refusal outside the gates: whatever a scan of the kit can be answered with stands in a table.

`refusals.csv`, a row for each place in the code that says no to a scan: a gate (recalled, set
aside, barred mix, already fitted elsewhere, and the charge clock), a law of the ledger, what a
person has signed or decides, what can hurt somebody, or a scan that means nothing and is asked
again. All else that is odd counts, see tests/kitting/test_hand_wins.py. A new refusal fails here
until it is one of these; an oddity is no reason for one.
"""

import csv
from pathlib import Path

from tests.laws.refusals import Refusal, met_by

TABLE = Path(__file__).parent / "refusals.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
KINDS = {"gate", "law", "signed", "decided", "hurts", "nothing"}
ACTS = {
    "pick": ("kitting.picking", "pick"),
    "load": ("kitting.loading", "load"),
    "unbox": ("kitting.unboxing", "unbox"),
    "fit": ("kitting.fitting", "fit"),
    "commission": ("kitting.fitting", "commission"),
    "take_over": ("kitting.donors", "take_over"),
    "bring_back": ("kitting.bringing_back", "bring_back"),
    "come_back": ("inventory.returning", "come_back"),
    "any": ("inventory.intake", "_a_thing_or_nothing"),  # before every act
}


def test_every_refusal_is_a_gate_a_law_or_a_scan_that_means_nothing() -> None:
    """Each that the code can answer a scan with is a row; each row is in the code."""
    found = set().union(*(met_by(start) for start in ACTS.values()))
    listed = {
        Refusal(row["module"], row["function"], row["words"], row["lead"] == "yes") for row in ROWS
    }

    assert len(found) > 60
    assert found - listed == set(), "a refusal that is in no row: let the hand win, and tell"
    assert listed - found == set()
    assert len(listed) == len(ROWS)


def test_every_row_says_what_it_is_and_why() -> None:
    """One of the kinds, with a reason; a lead opens gates only, and never what is recalled."""
    for row in ROWS:
        assert row["kind"] in KINDS, row
        assert len(row["why"]) > 15, row
        assert row["lead"] != "yes" or row["kind"] == "gate", row
        assert row["lead"] != "yes" or "recall" not in row["why"], row


def test_each_act_is_followed_through_what_it_calls() -> None:
    """Gates, the mover and what lies between are met from each act, so that none is left unread."""
    for act, start in ACTS.items():
        modules = {one.module for one in met_by(start)}
        assert act in ("any", "come_back") or "kitting.gates" in modules, act
    assert {"kitting.bag_picking", "kitting.lengths"} <= {
        one.module for one in met_by(ACTS["pick"])
    }
