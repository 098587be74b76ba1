"""An open question taken both ways: the lines of each answer, and what is not used comes back."""

from kitting.plan import configuration, difference, kit
from tests.plan.shipped import edition, hand
from tests.plan.small import edition as small
from tests.plan.small import quantities, work_out

LIMIT = """
[[limit]]
name = "thin"
message = "no thicker than 150"
measure = "od"
max = 150
"""


def test_the_lines_of_each_answer_go_along():
    """Thin or thick: both glands, the reducer for the thin one, and one nut that either needs."""
    found = work_out(od="unknown", take_both=["od"])
    lines = {line.item: line for line in found.lines if line.step == "gland"}

    assert {item: line.quantity for item, line in lines.items()} == {
        "g20": 1,
        "g25": 1,
        "reducer": 1,
        "nut": 1,
    }
    thin, thick = "4 mm to 10.9 mm", "11 mm to 20 mm"
    assert [other[1:] for other in lines["g20"].alternatives] == [(thin, 1), (thick, 0)]
    assert [other[1:] for other in lines["nut"].alternatives] == [(thin, 1), (thick, 1)]
    assert lines["g20"].reasons[0].arithmetic.startswith("only if it is 4 mm to 10.9 mm: ")
    assert (found.unresolved, [one.axis for one in found.taken_both]) == ((), ["od"])


def test_lines_that_do_not_hang_on_it_are_as_they_were():
    """Without alternatives, in the same quantity."""
    both, bare = work_out(od="unknown", take_both=["od"]), work_out(od="unknown")

    plain = {key: n for key, n in quantities(both.lines).items() if key[1] != "gland"}
    assert plain == quantities(bare.lines)
    assert not any(line.alternatives for line in both.lines if line.step != "gland")


def test_whatever_the_answer_the_kit_holds_it():
    """Answered later, nothing is lacking: the difference only brings back."""
    known, given = edition("tower"), hand("tower")["T10"]
    both = _kit(known, {**given, "take_both": ["ac_od"]})
    assert both.refused == ()
    for value in (80, 121, 240):
        found = difference.between(both, _kit(known, {**given, "ac_od": value}))
        assert found.to_pick() == ()
        assert found.to_return() != ()


def _kit(known, given):
    return kit.work_out(known, configuration.parse(given, known))


def test_what_a_limit_hangs_on_is_answered_first():
    """The kit is refused with the limit's own words, and the question stays open without it."""
    known = small(more=LIMIT)
    found = work_out(known, od="unknown", take_both=["od"])

    assert [(r.rule, r.message) for r in found.refused] == [
        ("take_both", "od: answer it first: no thicker than 150")
    ]


def test_what_protects_hangs_on_no_open_question():
    """A protective device that differs by the answer is settled before release."""
    rule = """
[[rule]]
name = "fuse {n}"
need = "protect and isolate"
step = "connect"
when = {{ od = {{ {when} }} }}
way = "each"
gives = {{ {item} = 1 }}
"""
    more = rule.format(n=1, when="max = 100", item="plug")
    more += rule.format(n=2, when="min = 101", item="screw")
    known = small(without=("no protect and isolate",), more=more)
    found = work_out(known, od="unknown", take_both=["od"])

    assert [refusal.rule for refusal in found.refused] == ["take_both"]
    assert "protects or isolates" in found.refused[0].message
