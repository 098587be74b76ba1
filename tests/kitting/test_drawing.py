"""The drawing: one outline per unit, lead and bracket, its state by word, ground and mark."""

from collections import Counter

from inventory.models import Unit
from kitting.drawing import WORDS, drawing_of
from kitting.models import Kit
from kitting.progress import fold
from tests.kitting.yard import Yard, about


def states(kit: Kit, kind: str) -> Counter[str]:
    drawing = drawing_of(kit, fold(kit))
    assert drawing is not None
    return Counter(shape.state for shape in drawing.shapes if shape.kind == kind)


def test_units_leads_and_brackets_are_drawn(yard: Yard, kit: Kit) -> None:
    """Two modules, a head and a foot; two leads of power and two of data; two brackets."""
    assert states(kit, "unit") == {"needed": 2}
    assert states(kit, "head") == {"needed": 1}
    assert states(kit, "base") == {"needed": 1}
    assert states(kit, "lead")["needed"] >= 4
    assert states(kit, "bracket") == {"needed": 2}


def test_a_module_goes_from_outline_to_tick(yard: Yard, kit: Kit) -> None:
    """Needed, on the van, seen, fitted at the place that was said."""
    yard.box("S1")
    said = []
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    said.append(dict(states(kit, "unit")))
    yard.wanda.scan("load", "BOX-S1", **about(kit))
    said.append(dict(states(kit, "unit")))
    yard.tariq.scan("unbox", yard.label("S1"), **about(kit))
    said.append(dict(states(kit, "unit")))
    place = {"position": {"stack": 1, "level": 2}}
    yard.tariq.scan("fit", yard.label("S1"), **about(kit, **place))
    said.append(dict(states(kit, "unit")))

    assert said == [
        {"needed": 2},
        {"loaded": 1, "needed": 1},
        {"seen": 1, "needed": 1},
        {"fitted": 1, "needed": 1},
    ]
    drawing = drawing_of(kit, fold(kit))
    assert drawing
    fitted = next(shape for shape in drawing.shapes if shape.state == "fitted")
    assert fitted.position == "1/2"
    assert fitted.text == "2: S1"
    assert Unit.objects.get(serial="S1").serial in fitted.told


def test_what_is_missing_is_marked(yard: Yard, kit: Kit) -> None:
    """A cross, and the word in the legend."""
    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    yard.wanda.scan("load", "BOX-S1", **about(kit))
    yard.tariq.scan("missing", "S1", **about(kit))

    assert states(kit, "unit")["trouble"] == 1
    drawing = drawing_of(kit, fold(kit))
    assert drawing
    assert ("trouble", WORDS["trouble"]) in drawing.states
    assert WORDS["trouble"] in drawing.told


def test_everything_lies_inside_the_drawing(yard: Yard, kit: Kit) -> None:
    """No outline is cut off at the edge."""
    drawing = drawing_of(kit, fold(kit))
    assert drawing
    for shape in drawing.shapes:
        assert shape.x > 0
        assert shape.y > 0
        assert shape.x + shape.w < drawing.width
        assert shape.y + shape.h < drawing.height


def test_what_stood_before_an_expansion_is_not_needed_again(yard: Yard) -> None:
    """A third module brings one lead of each sort; foot, old leads and brackets are there."""
    before = {"stacks": [{"modules": 2}]}
    job = yard.job(job="expansion", stacks=[{"modules": 3}], before=before)
    kit = yard.kit(job)
    new = kit.lines.get(item__code="CT-PLEAD").quantity

    assert states(kit, "base") == {"fitted": 1}
    assert states(kit, "lead")["needed"] == 2 * new
    assert states(kit, "bracket") == {"fitted": 2}  # R7: two brackets for two modules and for three
