"""Problems told on the spot."""

from datetime import timedelta

from inventory import intake
from inventory.models import Finding, Hold, Return, Unit
from inventory.not_arrived import LONG, still_waiting
from inventory.queries import unexplained
from kitting.models import Kit, Package
from kitting.progress import fold
from tests.firm import NOW
from tests.kitting.test_unboxing import bag, carry
from tests.kitting.yard import Yard, about
from tests.stories.counting_hands import Hands

PHOTO = "c" * 64


def test_a_missing_bag_names_each_item_and_how_many(yard: Yard, kit: Kit) -> None:
    """Its contents leave the kit; again it is noted."""
    for code, quantity in (("CT-TIE", 12), ("CT-BOLT6", 12)):
        yard.shelve(code, quantity)
        yard.wanda.scan("pick", code, quantity=quantity, **about(kit))
    yard.wanda.scan("load", Package.objects.get(kit=kit, kind="parcel").place.code, **about(kit))
    place = bag(kit, "join")
    done = yard.tariq.scan("missing", place.code, **about(kit))
    again = yard.tariq.scan("missing", place.code, **about(kit))

    found = Finding.objects.filter(kind="missing").values_list("item__code", "quantity", "place")
    assert (done.verdict, again.verdict) == ("problem", "noted")
    assert set(found) == {("CT-TIE", 4, place.pk), ("CT-BOLT6", 12, place.pk)}
    totals = fold(kit).totals
    assert (totals["CT-TIE"].missing, totals["CT-TIE"].picked) == (4, 12)
    assert unexplained(totals["CT-BOLT6"].item) == 12


def test_a_missing_unit_leaves_the_kit_until_it_is_found(yard: Yard, kit: Kit) -> None:
    """Seen after all, the problem is answered; the other one is still to be picked."""
    carry(yard, kit, "S1")
    done = yard.tariq.scan("missing", "S1", **about(kit))
    again = yard.tariq.scan("missing", "S1", **about(kit))
    lost = fold(kit).totals["CT-MODULE"].missing
    word = yard.mona.scan("settle", subject=f"problem:{done.id}", reason="surely in the van")
    assert (word.verdict, word.sentence.partition(",")[0]) == (
        "stopped",
        "It is answered when it is found",
    )
    found = yard.tariq.scan("unbox", "S1", **about(kit))

    assert (done.verdict, again.verdict, found.verdict) == ("problem", "noted", "problem")
    assert "is found" in found.sentence
    assert (lost, fold(kit).totals["CT-MODULE"].missing) == (1, 0)
    total = fold(kit).totals["CT-MODULE"]
    assert (total.seen, total.picked, total.to_pick) == (1, 1, 1)


def test_a_missing_quantity_is_told_even_if_it_was_never_packed(yard: Yard, kit: Kit) -> None:
    """Tapped in the list: item and number are enough."""
    yard.shelve("CT-BRACKET", 2)
    yard.wanda.scan("pick", "CT-BRACKET", quantity=2, **about(kit))
    packed = yard.tariq.scan("missing", "CT-BRACKET", quantity=1, **about(kit))
    never = yard.tariq.scan("missing", "CT-TERM", quantity=2, **about(kit))

    assert (packed.verdict, never.verdict) == ("problem", "problem")
    totals = fold(kit).totals
    assert (totals["CT-BRACKET"].missing, totals["CT-BRACKET"].at_depot) == (1, 1)
    assert totals["CT-TERM"].missing == 2
    states = {row.line.item.code: row.state for row in fold(kit).lines}
    assert states["CT-TERM"] == "missing"


def test_damage_wants_a_photo(yard: Yard, kit: Kit) -> None:
    """Without one it is stopped; with one the unit is set aside where it is."""
    carry(yard, kit, "S1")
    yard.tariq.scan("unbox", "S1", **about(kit))
    without = yard.tariq.scan("damaged", "S1", **about(kit))
    done = yard.tariq.scan("damaged", "S1", photo=PHOTO, reason="cracked", **about(kit))
    again = yard.tariq.scan("damaged", "S1", photo=PHOTO, reason="damaged", **about(kit))

    assert (without.verdict, without.sentence) == ("stopped", "Take a photo of the damage first.")
    assert (done.verdict, again.verdict) == ("problem", "noted")
    finding = Finding.objects.get(kind="damaged")
    assert (finding.photo, finding.subject) == (PHOTO, kit.subject)
    assert Hold.objects.get().reason == "cracked"
    assert Unit.objects.get(serial="S1").place == kit.job.site.place
    assert fold(kit).totals["CT-MODULE"].damaged == 1


def test_damage_is_undone_whole(yard: Yard, kit: Kit) -> None:
    """Hold and problem both end."""
    carry(yard, kit, "S1")
    done = yard.tariq.scan("damaged", "BOX-S1", photo=PHOTO, reason="damaged", **about(kit))
    yard.tariq.scan("undo", reverses=done.id)

    assert not Hold.objects.filter(release=None).exists()
    assert fold(kit).totals["CT-MODULE"].damaged == 0


def test_damaged_needs_a_reason_and_is_not_used_as_planned(yard: Yard, kit: Kit) -> None:
    """Two of twelve are set aside where they are: ten are used, the two come back."""
    yard.shelve("CT-TIE", 12)
    yard.wanda.scan("pick", "CT-TIE", quantity=12, **about(kit))
    yard.wanda.scan("load", Package.objects.get(kit=kit, kind="parcel").place.code, **about(kit))
    yard.tariq.scan("unbox", "CT-TIE", **about(kit))
    told = {"quantity": 2, "photo": PHOTO, **about(kit)}
    without = yard.tariq.scan("damaged", "CT-TIE", reason=" ", **told)
    done = yard.tariq.scan("damaged", "CT-TIE", reason="cut", **told)
    yard.tariq.scan("use", **about(kit))

    assert without.sentence == "Touch what one sees first."
    assert done.verdict == "problem"
    assert Finding.objects.get(kind="damaged").words.endswith("damaged: cut.")
    total = fold(kit).totals["CT-TIE"]
    assert (total.used, total.on_site) == (10, 2)
    yard.tariq.scan("bring_back", "CT-TIE", target="DOCK", **about(kit))
    yard.shelve("CT-TIE", 2, at=yard.firm.van)
    yard.tariq.scan("unbox", "CT-TIE", quantity=2, **about(kit))
    yard.tariq.scan("use", **about(kit))
    assert fold(kit).totals["CT-TIE"].used == 12


def test_never_worked_is_reason_enough(yard: Yard, kit: Kit) -> None:
    """Told dead on arrival with a photo, nothing more is asked."""
    carry(yard, kit, "S1")
    dead = yard.tariq.scan("damaged", "S1", photo=PHOTO, kind="dead", **about(kit))

    assert dead.verdict == "problem", dead.sentence
    assert Hold.objects.get().reason == "never worked"


def test_damaged_small_parts_are_counted(yard: Yard, kit: Kit) -> None:
    """They are kept apart by hand; the line says how many; they come back as damaged."""
    done = yard.tariq.scan(
        "damaged", "CT-FRONT", quantity=1, photo=PHOTO, reason="damaged", **about(kit)
    )
    assert done.sentence.endswith("told as damaged. Keep it apart and bring it back.")

    assert done.verdict == "problem"
    assert fold(kit).totals["CT-FRONT"].damaged == 1

    yard.tariq.scan("surplus", "CT-FRONT", quantity=2, **about(kit))
    for _ in range(2):
        yard.tariq.scan("bring_back", "CT-FRONT", quantity=1, target="DOCK", **about(kit))
    backs = Return.objects.filter(lot__item__code="CT-FRONT").order_by("pk")
    assert [(back.kind, back.quantity) for back in backs] == [("damaged", 1), ("left", 1)]
    asked = {"subject": backs[0].subject, "kind": "as_new", "target": yard.firm.bins[0].code}
    assert "a manager decides" in yard.wanda.scan("check_back", **asked).sentence


def test_surplus_and_wrong_things_are_booked_in_to_be_brought_back(yard: Yard, kit: Kit) -> None:
    """They stand loose at the site by the book."""
    more = yard.tariq.scan("surplus", "CT-BRACKET", quantity=2, **about(kit))
    wrong = yard.tariq.scan("wrong", "BRA", quantity=3, **about(kit))

    assert (more.verdict, wrong.verdict) == ("problem", "problem")
    assert fold(kit).totals["CT-BRACKET"].on_site == 2
    assert fold(kit).others["BRA"].on_site == 3
    kinds = set(Finding.objects.values_list("kind", flat=True))
    assert kinds == {"surplus", "wrong"}


def test_a_unit_of_another_kit_is_only_told(yard: Yard, kit: Kit) -> None:
    """It is not taken from the other kit, and another crew does not learn whose it is."""
    other = yard.kit(yard.job(crew=yard.tove))
    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(other))
    done = yard.tariq.scan("wrong", "S1", **about(kit))

    assert (done.verdict, done.sentence) == (
        "dispute",
        "This belongs to another job. Set it aside for the warehouse.",
    )
    assert fold(other).totals["CT-MODULE"].picked == 1


def test_a_foreign_unit_is_not_reported_damaged_or_missing_through_this_kit(
    yard: Yard, kit: Kit
) -> None:
    """Neither act reaches into another crew's kit."""
    other = yard.kit(yard.job(crew=yard.tove))
    yard.box("S1")
    yard.wanda.scan("pick", "BOX-S1", **about(other))
    damaged = yard.tariq.scan("damaged", "S1", photo=PHOTO, reason="damaged", **about(kit))
    missing = yard.tariq.scan("missing", "S1", **about(kit))

    assert (damaged.verdict, missing.verdict) == ("stopped", "stopped")
    assert not Finding.objects.exists()
    assert not Hold.objects.exists()


def test_what_waits_for_a_day_for_its_receipt_is_shown(yard: Yard, kit: Kit) -> None:
    """Until goods-in has it, a person sees who scanned it; then the scan counts by itself."""
    line = yard.tariq.line("commission", yard.label("NEW9"), number=1, **about(kit))
    [done] = intake.take(yard.tariq.person, [line], NOW - LONG)
    assert done.verdict == "waiting", done.sentence
    assert not still_waiting(NOW - timedelta(hours=1)).exists()
    assert [str(one.uid) for one in still_waiting(NOW)] == [done.id]
    mona = Hands(yard.mona.person).begin("/problems/")
    assert "21NEW9 was scanned and nobody has received it" in " ".join(mona.page.words.split())
    yard.wanda.scan("receive", yard.label("NEW9"), target="DOCK")
    assert not still_waiting(NOW).exists()
