"""A kit in words: quantities as people count them."""

import pytest

from kitting.plan import family, wording
from kitting.plan.lines import line
from tests.plan.shipped import edition
from tests.plan.small import edition as small
from tests.plan.small import text, work_out


@pytest.mark.parametrize(
    ("item", "quantity", "pieces", "said"),
    [
        ("CT-MODULE", 3, (), "3"),
        ("CT-AC6", 15000, (7000, 8000), "7 m + 8 m"),
        ("CT-SEALANT", 310001, (), "310.001 ml (2 to open)"),
        ("CT-BOARD", 1638000, (), "1.638 m2"),
    ],
)
def test_a_quantity_is_told_as_people_count(item, quantity, pieces, said):
    """Pieces, each cut length in metres, millilitres with cartridges, square metres."""
    known = edition("tower")

    assert wording.amount(known, line(known, item, quantity, "fix", (), pieces)) == said


def test_an_open_question_is_told_with_its_answers():
    """What hangs on it, and what each answer takes."""
    told = wording.text(small(), work_out(od="unknown"))

    assert "Open: How thick is the cable?\n  hangs on it: enter cable: mains\n" in told
    assert "  4 mm to 10.9 mm: 1 gland M20, 1 reducer, 1 locknut\n" in told


def test_an_expansion_tells_what_moves_and_what_is_renewed():
    """The plug moves, the opened joint's seal is renewed."""
    known = family.parse(
        text().replace("link_with_head = true", "link_with_head = false"), "s.toml"
    )
    stood = {"stacks": [{"modules": 1}]}
    found = work_out(known, job="expansion", stacks=[{"modules": 2}], before=stood)
    told = wording.text(known, found)

    assert "Moves: 1 end plug from stack 1 place 1 to stack 1 place 2" in told
    assert "Renewed, the old is thrown away\n  1  seal (seal)" in told


def test_a_refused_kit_is_its_reasons():
    """No line beside a refusal."""
    told = wording.text(small(), work_out(wall="wood", stacks=[{"modules": 3}]))

    assert told == (
        "Small, parts list of 2026-11-01\nRefused:\n"
        "  two high on wood: wood carries two modules: expected at most 2, got 3 (stack 1)\n"
    )
