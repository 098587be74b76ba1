"""Loading: one scan each onto the job's van."""

from inventory.models import Finding, Item, ItemCode, Lot, Place
from kitting import travelling
from kitting.models import Kit, Package
from kitting.progress import fold
from tests.kitting.yard import Yard, about


def parcel(kit: Kit) -> Place:
    return Package.objects.get(kit=kit, kind="parcel").place


def test_a_parcel_takes_its_bags_along(yard: Yard, kit: Kit) -> None:
    """One container move; twice changes nothing."""
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    first = yard.wanda.scan("load", parcel(kit).code, **about(kit))
    again = yard.wanda.scan("load", parcel(kit).code, **about(kit))

    assert (first.verdict, again.verdict) == ("applied", "noted")
    assert fold(kit).totals["CT-BRACKET"].loaded == 2
    assert parcel(kit).within("van") == yard.firm.van


def test_a_box_is_loaded_by_its_own_code(yard: Yard, kit: Kit) -> None:
    """It stays claimed for the kit on the van, and twice changes nothing."""
    unit = yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    first = yard.tariq.scan("load", "BOX-S1", target="VAN1", **about(kit))
    again = yard.tariq.scan("load", "S1", **about(kit))

    assert (first.verdict, again.verdict) == ("applied", "noted")
    unit.refresh_from_db()
    assert unit.place is not None
    assert unit.place.parent == Package.objects.get(kit=kit, kind="load").place
    assert fold(kit).totals["CT-MODULE"].loaded == 1


def test_long_things_are_loaded_from_the_bay_all_at_once(yard: Yard, kit: Kit) -> None:
    """Without a number, all that stands there; then it is on the van already."""
    yard.shelve("CT-AC4", 9000)
    yard.wanda.scan("pick", "CT-AC4", **about(kit))
    first = yard.wanda.scan("load", "CT-AC4", **about(kit))
    again = yard.wanda.scan("load", "CT-AC4", **about(kit))
    unpicked = yard.wanda.scan("load", "CT-DATA", **about(kit))

    assert (first.verdict, again.verdict, unpicked.verdict) == ("applied", "noted", "problem")
    assert unpicked.sentence.endswith(" loaded. Picking was not scanned.")
    data = fold(kit).totals["CT-DATA"]
    assert (data.loaded, data.to_pick) == (data.needed, 0)
    assert fold(kit).totals["CT-AC4"].loaded == 5200


def test_a_parcel_of_another_kit_stays_a_person_decides_and_who_may_know_is_told_whose(
    yard: Yard, kit: Kit
) -> None:
    """The desk and a crew that has both jobs read the kit; another crew reads only what to do."""
    foreign = yard.kit(yard.job(crew=yard.tove))
    code = parcel(foreign).code
    desk = yard.wanda.scan("load", code, **about(kit))
    crew = yard.tariq.scan("load", code, **about(kit))

    assert (desk.verdict, crew.verdict) == ("dispute", "dispute")
    decides = "The office decides."
    assert desk.sentence == f"This belongs to {foreign.code}. Set it aside for that kit. {decides}"
    assert crew.sentence == (
        f"This belongs to another job. Set it aside for the warehouse. {decides}"
    )
    told = Finding.objects.filter(kind="clash", place=parcel(foreign), subject=kit.subject)
    assert {one.words for one in told} == {
        f"Parcel 1 was scanned for {kit.code} and is packed for another kit."
    }
    assert foreign.job.code not in str(crew.as_json())
    assert parcel(foreign).parent == yard.firm.dock


def test_another_van_has_it_and_that_is_told(yard: Yard, kit: Kit) -> None:
    """It is where the hand put it; a box and what is loose get a place of the kit there, too."""
    other = Place.objects.create(kind="van", code="VAN2", name="Van 2")
    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(kit))
    told = f"{kit.code} leaves with Van 1. Van 2 has it now."
    there = {"target": other.code, **about(kit)}
    done = [yard.wanda.scan("load", text, **there) for text in (parcel(kit).code, "BOX-S1")]
    again = yard.wanda.scan("load", parcel(kit).code, **there)

    assert [one.verdict for one in (*done, again)] == ["problem"] * 3
    assert all(one.sentence.endswith(told) for one in (*done, again))
    assert Finding.objects.filter(words=told, place=other, answer=None).count() == 2
    assert parcel(kit).parent == other
    assert fold(kit).totals["CT-MODULE"].loaded_now == 1
    assert not any(load.loaded for load in travelling.loads_of(kit))
    nowhere = yard.wanda.scan("load", parcel(kit).code, target="BIN1", **about(kit))
    assert (nowhere.verdict, nowhere.sentence) == ("stopped", "Scan the van it is loaded on.")


def test_loading_without_a_pick_marks_it_and_the_late_pick_fills_the_mark(
    yard: Yard, kit: Kit
) -> None:
    """The later step is applied; the earlier one moves nothing when it comes."""
    yard.box("S1")
    early = yard.wanda.scan("load", "BOX-S1", **about(kit))
    marked = Finding.objects.get(kind="skipped")
    late = yard.wanda.scan("pick", "BOX-S1", **about(kit))

    assert (early.verdict, late.verdict) == ("problem", "noted")
    assert "Picking was not scanned" in marked.words
    marked.refresh_from_db()
    assert marked.answer.words == "The scan came later."
    assert fold(kit).totals["CT-MODULE"].loaded == 1


def test_a_batch_that_is_set_aside_goes_neither_on_the_van_nor_further(
    yard: Yard, kit: Kit
) -> None:
    """In a parcel, loose in the bay, at the site: by its label and by the article number.

    The label of the good batch takes the good one, though the other lies before it.
    """
    gtin = "09521234000044"
    ItemCode.objects.create(item=Item.objects.get(code="CT-ANCH75"), text=gtin, key=gtin)
    bad, good = (f"]C101{gtin}10{number}" for number in ("BAD", "GOOD"))
    for label in (bad, good):
        yard.wanda.scan("receive", label, via="symbol", target="BIN1", quantity=50)
        yard.wanda.scan("pick", label, via="symbol", quantity=2, **about(kit))
    piece = {"kind": "remnant", "target": "BIN1", "quantity": 6000}
    yard.wanda.scan("make_piece", "CT-AC4", **piece)
    stick = Lot.objects.exclude(parent=None).get().number
    yard.wanda.scan("pick", stick, **about(kit))
    for label in (bad, stick):
        yard.mona.scan("set_aside", label, reason="soft", via="symbol")

    said = [yard.wanda.scan("load", text, **about(kit)) for text in (stick, "CT-AC4")]
    said.append(yard.wanda.scan("load", parcel(kit).code, **about(kit)))
    one = {"via": "symbol", "quantity": 1, **about(kit)}
    said += [yard.tariq.scan("unbox", text, **one) for text in (bad, gtin)]

    assert [done.verdict for done in said] == ["stopped"] * 5
    assert all("set aside: soft" in done.sentence for done in said)
    yard.tariq.scan("unbox", good, via="symbol", quantity=2, **about(kit))
    at_site = kit.job.site.place.holdings.filter(quantity__gt=0)
    assert list(at_site.values_list("lot__number", "quantity")) == [("GOOD", 2)]
    yard.mona.scan("release", bad, via="symbol", reason="looked at")
    for step in ("use", "missing"):
        assert yard.tariq.scan(step, good, **one).verdict in ("applied", "problem")
    assert not at_site.exists()


def test_a_thing_that_nobody_received_waits_until_it_is_received(yard: Yard, kit: Kit) -> None:
    """The scan is kept; goods-in wakes it."""
    text = yard.label("LATE1")
    waiting = yard.wanda.scan("load", text, **about(kit))
    yard.wanda.scan("receive", text, target="DOCK")

    assert waiting.verdict == "waiting"
    assert fold(kit).totals["CT-MODULE"].loaded == 1


def test_the_bay_itself_is_not_loaded(yard: Yard, kit: Kit) -> None:
    """Each heavy box is scanned, so none is left behind."""
    bay = Package.objects.get(kit=kit, kind="bay").place
    done = yard.wanda.scan("load", bay.code, **about(kit))

    assert (done.verdict, "one by one" in done.sentence) == ("stopped", True)


def test_undo_brings_the_parcel_back_to_the_dock(yard: Yard, kit: Kit) -> None:
    """The container goes back where it stood."""
    done = yard.tariq.scan("load", parcel(kit).code, **about(kit))
    yard.tariq.scan("undo", reverses=done.id)

    assert parcel(kit).parent == yard.firm.dock
