"""A box opened and found different: the boxes of its batch are not relied on until one is.

The tower's list tells four feet in the box of each base. Common practice, no source.
"""

from datetime import date

from inventory import audit, digest, tracing
from inventory.models import BoxDoubt, CartonContent, Finding, Item, ItemCode, Unit
from kitting.models import Kit
from kitting.overviews import walk
from kitting.progress import fold
from tests.kitting.yard import Yard, about

GTIN = "09521234000990"  # prefix 952 is for examples (GS1 General Specifications)
FEET, NONE = {"with": "CT-FOOT"}, {"with": "CT-FOOT", "kind": "none"}


def netted(kit: Kit) -> int:
    return fold(kit).totals["CT-FOOT"].in_boxes


def test_one_box_that_differs_stops_netting_and_one_as_told_starts_it(yard: Yard, kit: Kit) -> None:
    """Said in plain words, told on the picking walk, in the trace, and the audit holds."""
    yard.shelve("CT-BASE", 2)
    assert netted(kit) == 4
    differs = yard.wanda.scan("open_box", "CT-BASE", quantity=3, **FEET)
    told = [str(one.content.item.code) for one in walk(kit).doubted]

    assert (differs.verdict, netted(kit), told) == ("problem", 0, ["CT-FOOT"])
    assert fold(kit).totals["CT-FOOT"].to_pick == 4
    assert "held 3 x" in differs.sentence
    assert "told is 4 x" in differs.sentence
    finding = Finding.objects.get(kind="box")
    before = digest.digest()

    again = yard.wanda.scan("open_box", "CT-BASE", kind="as_told")
    assert (again.verdict, netted(kit), walk(kit).doubted) == ("applied", 4, ())
    assert "relied on again" in again.sentence
    assert finding.answer.words == "Another box was opened and held what is told."
    chain = tracing.chain("CT-BASE")
    assert [link.step for link in chain.links][-2:] == ["open_box", "open_box"]
    assert any("held 3 x" in words and "(answered" in words for words in chain.findings)
    assert digest.digest() != before
    assert [done.problems for done in audit.run() if done.problems] == []


def test_each_undo_takes_back_what_was_said(yard: Yard, kit: Kit) -> None:
    """The doubt goes with its box; the check undone, the doubt and its problem are there again."""
    first = yard.wanda.scan("open_box", "CT-BASE", **NONE)
    check = yard.wanda.scan("open_box", "CT-BASE", quantity=4, **FEET)
    yard.wanda.scan("undo", reverses=check.id)
    assert netted(kit) == 0
    assert Finding.objects.filter(kind="box", answer=None).count() == 1
    again = yard.wanda.scan("open_box", "CT-BASE", quantity=4, **FEET)
    assert netted(kit) == 4
    assert again.verdict == "applied"

    other = yard.wanda.scan("open_box", "CT-BASE", quantity=5, **FEET)
    assert netted(kit) == 0
    yard.wanda.scan("undo", reverses=other.id)
    assert netted(kit) == 4
    yard.wanda.scan("undo", reverses=first.id)  # ended long ago: nothing comes back with it
    assert netted(kit) == 4
    assert [done.problems for done in audit.run() if done.problems] == []


def test_only_the_batch_is_in_doubt(yard: Yard, kit: Kit) -> None:
    """Boxes packed from another batch count; the rest as soon as none of the batch is left."""
    anchor, bolt = (Item.objects.get(code=code) for code in ("CT-ANCH75", "CT-BOLT6"))
    ItemCode.objects.create(item=anchor, text=GTIN, key=GTIN)
    CartonContent.objects.create(box_of=anchor, item=bolt, quantity=1, since=date(2026, 11, 1))
    needed = sum(kit.lines.filter(item=anchor).values_list("quantity", flat=True))
    for batch in ("GOOD", "ODD"):
        yard.wanda.scan("receive", f"]C101{GTIN}10{batch}", target="BIN1", quantity=needed)
    yard.wanda.scan("pick", f"]C101{GTIN}10GOOD", **about(kit, quantity=1))
    other = yard.kit(yard.job())
    said = yard.wanda.scan("open_box", f"]C101{GTIN}10ODD", quantity=2, **{"with": "CT-BOLT6"})

    def bolts(of: Kit) -> int:
        return fold(of).totals["CT-BOLT6"].in_boxes

    assert needed >= 2
    assert "batch ODD" in said.sentence
    assert (bolts(kit), bolts(other)) == (1, 0)
    yard.wanda.scan("count", f"]C101{GTIN}10ODD", target="BIN1", kind="none")
    assert (bolts(kit), bolts(other)) == (needed, needed)
    assert "held 2 x" in tracing.chain(f"]C101{GTIN}10ODD").findings[-1]


def test_a_box_is_known_by_its_own_code_and_its_units_tell_of_the_doubt(yard: Yard) -> None:
    """The box of one head held one port blank where two are told: another head's trace says so."""
    kit = yard.kit()
    for serial in ("H1", "H2"):
        yard.box(serial, "CT-POWER")
    before = fold(kit).totals["CT-PBLANK"].in_boxes
    said = yard.wanda.scan("open_box", "BOX-H1", quantity=1, **{"with": "CT-PBLANK"})

    assert (before, fold(kit).totals["CT-PBLANK"].in_boxes) == (2, 0)
    assert said.verdict == "problem"
    assert any("held 1 x" in words for words in tracing.chain("H2").findings)
    assert [link.step for link in tracing.chain("BOX-H1").links][-1] == "open_box"


def test_a_crew_tells_it_of_its_own_job_and_what_was_seen_stays_seen(yard: Yard, kit: Kit) -> None:
    """Another crew may not; feet that came out of the box are not asked for again."""
    yard.box("H1", "CT-POWER")
    no = yard.tove.scan("open_box", "CT-BASE", quantity=3, **FEET, **about(kit))
    none = yard.tariq.scan("open_box", "CT-BASE", quantity=3, **FEET)
    yard.tariq.scan("unbox", "CT-FOOT", quantity=4, **about(kit))
    told = yard.tariq.scan("open_box", "CT-BASE", quantity=3, **FEET, **about(kit))

    assert (no.verdict, none.verdict, told.verdict) == ("refused", "refused", "problem")
    assert Finding.objects.get(kind="box").subject == kit.subject
    total = fold(kit).totals["CT-FOOT"]
    assert (total.in_boxes, total.to_pick, total.on_site) == (4, 0, 4)


def test_what_cannot_be_read_changes_nothing(yard: Yard, kit: Kit) -> None:
    """A bin is no box; without a thing or a number nothing is said; no box is in itself."""
    asked = [
        ("BIN1", FEET | {"quantity": 3}),
        ("CT-BASE", {"quantity": 3}),
        ("CT-BASE", FEET),
        ("CT-BASE", {"with": "CT-BASE", "quantity": 1}),
        ("CT-TIE", {"kind": "as_told"}),
    ]
    said = [yard.wanda.scan("open_box", text, **more) for text, more in asked]

    assert {result.verdict for result in said} == {"stopped"}
    assert not BoxDoubt.objects.exists()
    assert not Finding.objects.exists()


def test_a_thing_no_list_tells_of_is_a_problem_and_no_doubt(yard: Yard, kit: Kit) -> None:
    """Ties in the box of a base: told to the office, the feet are relied on all the same."""
    more = yard.wanda.scan("open_box", "CT-BASE", quantity=2, **{"with": "CT-TIE"})

    assert (more.verdict, netted(kit)) == ("problem", 4)
    assert "told is none" in more.sentence
    assert not Unit.objects.exists()
