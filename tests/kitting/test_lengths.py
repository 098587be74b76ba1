"""Cables: each piece from one stick, remnants first, nothing cut twice."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory import audit
from inventory.models import CartonContent, Finding, ItemCode, Lot, Return
from inventory.moving import nameless
from inventory.queries import held
from inventory.words import measure
from kitting import (
    changing,
    explaining,
    hand_lines,
    lengths,
    nearby,
    overviews,
    packing,
    sourcing,
)
from kitting.models import Kit, KitLine
from kitting.plan import cutting
from kitting.progress import fold
from tests.kitting.yard import DAY, Yard, about, fresh


def line_of(kit: Kit, code: str) -> KitLine:
    return kit.lines.get(item__code=code)


def cuts(kit: Kit, line: KitLine) -> list[tuple[str, int, str, str]]:
    """Kind, mm, place and label of each part of a line's source."""
    found = sourcing.sources(kit)[line.pk]
    return [
        (s.kind, s.quantity, s.place.code if s.place else "", s.lot.number if s.lot else "")
        for s in found
    ]


def kept(yard: Yard, code: str, mm: int, at: int = 0) -> Lot:
    """A piece kept, with our label, in a bin."""
    place = yard.firm.bins[at].code
    done = yard.wanda.scan("make_piece", code, target=place, kind="remnant", quantity=mm)
    assert done.verdict in ("applied", "problem"), done.sentence
    return Lot.objects.exclude(parent=None).order_by("pk").last()


def test_one_piece_never_a_sum(yard: Yard, kit: Kit) -> None:
    """Two pieces of 3 m do not make one of more than 4 m: it is short, and the longest is named."""
    line = line_of(kit, "CT-AC4")
    (piece,) = line.pieces
    assert 3000 < piece < 6000
    for _ in range(2):
        kept(yard, "CT-AC4", 3000)

    assert cuts(kit, line) == [("short", piece, "", "")]
    (short,) = [s for s in sourcing.shortages(kit) if s.item.code == "CT-AC4"]
    assert (short.quantity, short.longest) == (piece, 3000)
    assert overviews.short_words(short).endswith("each piece whole; the longest here is 3 m")


def test_the_smallest_piece_that_holds_it_comes_before_a_reel(yard: Yard, kit: Kit) -> None:
    """A reel of 50 m, pieces of 9 m and 6 m: the need of some 4 m is cut from the 6 m."""
    line = line_of(kit, "CT-AC4")
    (piece,) = line.pieces
    yard.shelve("CT-AC4", 50_000)
    assert cuts(kit, line) == [("shelf", piece, "BIN1", "")]
    kept(yard, "CT-AC4", 9000, 1)
    six = kept(yard, "CT-AC4", 6000, 2)

    assert cuts(kit, line) == [("shelf", piece, "BIN3", six.number)]
    told = explaining.told(kit, "CT-AC4").from_where
    assert told[0].endswith(f"in one piece from Bin 3, cut from {six.number}")
    page = overviews.walk(kit)
    assert [(s.source.stick, s.source.room) for s in page.stops if s.line == line] == [
        ("kept", 6000)
    ]


def test_a_scan_of_the_piece_takes_what_it_holds_from_where_it_lies(yard: Yard, kit: Kit) -> None:
    """One scan, no number; a piece too short is stopped before anything moves."""
    line = line_of(kit, "CT-AC4")
    (piece,) = line.pieces
    yard.shelve("CT-AC4", 50_000)
    short, six = kept(yard, "CT-AC4", 3000), kept(yard, "CT-AC4", 6000, 2)
    no = yard.wanda.scan("pick", short.number, **about(kit))
    done = yard.wanda.scan("pick", six.number, **about(kit))

    assert no.verdict == "stopped"
    assert f"{short.number} holds 3 m of" in no.sentence
    assert done.verdict == "applied", done.sentence
    assert held(yard.firm.bins[2], six) == 6000 - piece
    assert cuts(kit, line) == []
    assert [found.problems for found in audit.run() if found.problems] == []


def test_the_item_s_code_takes_from_one_stick_too(yard: Yard, kit: Kit) -> None:
    """Of three pieces in a bin the smallest that holds it is booked."""
    line = line_of(kit, "CT-AC4")
    (piece,) = line.pieces
    pieces = [kept(yard, "CT-AC4", mm) for mm in (3000, 8000, 6000)]
    done = yard.wanda.scan("pick", "CT-AC4", quantity=piece, start="BIN1", **about(kit))

    assert done.verdict == "applied", done.sentence
    left = [held(yard.firm.bins[0], lot) for lot in pieces]
    assert left == [3000, 8000, 6000 - piece]


def test_the_item_s_code_never_adds_two_pieces_up(yard: Yard, kit: Kit) -> None:
    """Two of 3 m, some 5 m taken in one piece: it came from a piece that the book does not know."""
    line = line_of(kit, "CT-AC4")
    (piece,) = line.pieces
    short = [kept(yard, "CT-AC4", 3000) for _ in range(2)]
    yard.wanda.scan("count", "CT-AC4", target="BIN1", quantity=6000)
    done = yard.wanda.scan("pick", "CT-AC4", start="BIN1", **about(kit))

    assert [held(yard.firm.bins[0], lot) for lot in short] == [3000, 3000]
    assert done.verdict == "problem", done.sentence
    asked = Finding.objects.get(event__uid=done.id)
    assert (asked.kind, asked.place, asked.quantity) == ("count", yard.firm.bins[0], piece)
    assert "no piece there holds it" in asked.words
    assert [found.problems for found in audit.run() if found.problems] == []


def test_the_item_s_code_takes_each_piece_of_a_line_from_one_stick(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two pieces, two sticks of which neither holds both, one scan: each stick gives one.

    Every plan is weighed for a page alone: for a scan all others would wait up to two seconds.
    """
    job = yard.job()
    packing.work_out_kit(job, yard.mona.person)
    line = line_of(job.kit, code := "CT-DATA")
    more = {"item": line.item, "step": line.step, "verb": "add", "quantity": 2000}
    hand_lines.put(job, **more, reason="a second way", by=yard.mona.person)
    packing.release(job.kit, yard.mona.person)
    kit = fresh(job.kit)
    line = line_of(kit, code)
    pieces = [3800, 2000]
    assert line.pieces == pieces
    sticks = [kept(yard, code, mm + 100) for mm in pieces]
    with monkeypatch.context() as scanning:
        scanning.setattr(cutting, "_exact", lambda *_: pytest.fail("weighed under the lock"))
        done = yard.wanda.scan("pick", code, start="BIN1", **about(kit))

    assert done.verdict == "applied", done.sentence
    assert [held(yard.firm.bins[0], lot) for lot in sticks] == [100, 100]
    assert cuts(kit, line) == []


def test_several_pieces_of_a_line_and_the_next_kit_share_no_stick(yard: Yard) -> None:
    """Two stacks' leads from two pieces; the kit released later finds the rest too short."""
    first, second = yard.kit(), yard.kit()
    line = line_of(first, "CT-DATA")
    pieces = line.pieces
    kept(yard, "CT-DATA", sum(pieces) + 100)
    lacks = [
        [s.quantity for s in sourcing.shortages(kit) if s.item.code == "CT-DATA"]
        for kit in (first, second)
    ]

    assert lacks == [[], [sum(pieces)]]
    assert {(k, p) for k, _, p, _ in cuts(first, line)} == {("shelf", "BIN1")}
    assert sum(q for _, q, _, _ in cuts(first, line)) == sum(pieces)


def test_two_walks_do_not_lead_to_one_remnant(yard: Yard) -> None:
    """One piece and a reel: the kit released first has the piece, the other cuts from the reel.

    With the piece alone both may take it: the second is told to be short, the shelf is shown.
    """
    first, second = yard.kit(), yard.kit()
    six = kept(yard, "CT-AC4", 6000, 2)
    lines = [line_of(kit, "CT-AC4") for kit in (first, second)]
    (piece,) = lines[0].pieces
    piece_alone = [cuts(kit, line) for kit, line in zip((first, second), lines, strict=True)]
    lacking = {short.item.code for short in sourcing.shortages(second)}
    yard.shelve("CT-AC4", 50_000)

    assert piece_alone == [[("shelf", piece, "BIN3", six.number)]] * 2
    assert "CT-AC4" in lacking
    assert cuts(first, lines[0]) == [("shelf", piece, "BIN3", six.number)]
    assert cuts(second, lines[1]) == [("shelf", piece, "BIN1", "")]


def test_which_pieces_are_packed_is_known_not_guessed(yard: Yard) -> None:
    """4, 2 and 2 m, both short ones packed: the 4 m are wanted, though 4 m of 8 are packed.

    Each goes whole into its bag, from one labelled stick too; what goes back is wanted again.
    """
    job = yard.job(data_run=3200)  # 0.8 m for its ends
    packing.work_out_kit(job, yard.mona.person)
    line = line_of(job.kit, code := "CT-DATA")
    mona = Client()
    mona.force_login(yard.mona.person)
    more = {"item": line.item.code, "step": line.step, "verb": "add", "quantity": "2 x 2 m"}
    mona.post(reverse("job_hand", args=[job.code]), more | {"reason": "a second way"})
    packing.release(fresh(job.kit), yard.mona.person)
    kit = fresh(job.kit)
    line = line_of(kit, code)
    assert line.pieces == [4000, 2000, 2000]
    assert "8 m (2 m + 2 m) by hand: a second way" in line.reasons[-1]["arithmetic"]
    four = kept(yard, code, 4100, 1)
    seen = []
    for step, text, said in (
        ("pick", code, {"quantity": 2000, "start": "BIN1"}),
        ("pick", code, {"quantity": 2000, "start": "BIN1"}),
        ("put_back", code, {"quantity": 2000, "target": "BIN1"}),
        ("pick", four.number, {}),
    ):
        done = yard.wanda.scan(step, text, **said, **about(kit))
        assert done.verdict in ("applied", "problem"), done.sentence
        row = next(row for row in fold(kit).lines if row.line.pk == line.pk)
        seen.append((lengths.pieces_left(row), row.to_pick, row.state))

    assert seen == [
        ([4000, 2000], 6000, "some"),
        ([4000], 4000, "some"),
        ([4000, 2000], 6000, "some"),
        ([2000], 2000, "some"),
    ]
    assert held(yard.firm.bins[1], four) == 100
    yard.wanda.scan("put_back", code, quantity=2000, target="BIN2", **about(kit))
    for step in ("missing", "unbox"):  # the 4 m are looked for and found
        assert yard.tariq.scan(step, code, quantity=4000, **about(kit)).verdict == "problem"
    assert lengths.left(fold(kit).lines)[line.item_id] == [2000, 2000]
    assert [found.problems for found in audit.run() if found.problems] == []


def test_what_goes_back_is_a_piece_kept_of_its_own_length(yard: Yard, kit: Kit) -> None:
    """5.2 and 3 m cut, both back: two labels, no reel as long as before; one label goes as it came.

    Without a number what holds nothing wanted goes; a length that no piece has is refused.
    """
    line = line_of(kit, "CT-AC4")
    yard.shelve("CT-AC4", 50_000)
    there = {"start": "BIN1", **about(kit)}
    back = {"target": "BIN1", **about(kit)}
    for mm in (line.quantity, 3000):
        yard.wanda.scan("pick", "CT-AC4", quantity=mm, **there)
    assert fold(kit).totals["CT-AC4"].left_over == 3000
    mm = (None, 9000, line.quantity)
    first, no, last = (yard.wanda.scan("put_back", "CT-AC4", quantity=n, **back) for n in mm)

    three, five = Lot.objects.exclude(parent=None).order_by("pk")
    assert [first.verdict, last.verdict] == ["applied", "applied"]
    assert first.sentence.endswith(f": 3 m as {three.number} back at Bin 1. Print its label.")
    assert (no.verdict, "got 9 m" in no.sentence) == ("stopped", True)
    lying = {lot: held(yard.firm.bins[0], lot) for lot in (three, five, nameless(line.item))}
    assert lying == {three: 3000, five: 5200, nameless(line.item): 41_800}
    assert cuts(kit, line) == [("shelf", 5200, "BIN1", five.number)]
    yard.wanda.scan("pick", five.number, **about(kit))
    yard.wanda.scan("pick", kept(yard, "CT-AC4", 5200).number, quantity=5200, **about(kit))
    again = yard.wanda.scan("put_back", five.number, **back)  # not the other, which is as long
    assert again.sentence.endswith(f": 5.2 m as {five.number} back at Bin 1.")
    yard.wanda.scan("undo", reverses=again.id, **about(kit))
    assert [getattr(fold(kit).totals["CT-AC4"], n) for n in ("to_pick", "left_over")] == [0, 5200]
    assert [found.problems for found in audit.run() if found.problems] == []


def test_what_comes_back_from_the_site_is_looked_at_piece_by_piece(yard: Yard, kit: Kit) -> None:
    """5.2, 3 and 2 m were taken, 5.2 m used: 3 and 2 m come back, each a piece kept once seen."""
    line = line_of(kit, "CT-AC4")
    yard.shelve("CT-AC4", 50_000)
    for mm in (line.quantity, 3000, 2000):
        yard.wanda.scan("pick", "CT-AC4", quantity=mm, start="BIN1", **about(kit))
    yard.wanda.scan("load", "CT-AC4", **about(kit))
    used = yard.tariq.scan("use", **about(kit))
    assert yard.tariq.scan("bring_back", **about(kit)).verdict == "applied"
    told = [
        yard.wanda.scan("check_back", subject=f"return:{one.code}", kind="as_new", target="BIN2")
        for one in Return.objects.order_by("pk")
    ]

    assert (used.verdict, [one.verdict for one in told]) == ("applied", ["applied"] * 2)
    new = Lot.objects.exclude(parent=None).order_by("pk")
    assert [held(yard.firm.bins[1], lot) for lot in new] == [3000, 2000]
    assert told[0].sentence.endswith(f"It is {new[0].number} now. Print its label.")
    assert fold(kit).totals["CT-AC4"].back == 5000
    assert [found.problems for found in audit.run() if found.problems] == []


def test_a_piece_longer_than_its_need_is_not_too_much(yard: Yard, kit: Kit) -> None:
    """6 m for 5.2 m in a kit that was changed: nothing has to go back before it is loaded.

    Nor is what was taken in place of a piece that is damaged.
    """
    line = line_of(kit, "CT-AC4")
    yard.shelve("CT-AC4", 50_000)
    yard.wanda.scan("pick", "CT-AC4", quantity=6000, start="BIN1", **about(kit))
    other = line_of(kit, "CT-BRACKET")
    more = {"item": other.item, "step": other.step, "verb": "add", "quantity": 1}
    hand_lines.put(kit.job, **more, reason="a soft wall", by=yard.mona.person)

    assert fresh(kit).changes.count() == 1
    assert (line.quantity, fold(fresh(kit)).to_put_back) == (5200, [])
    told = {"quantity": 6000, "photo": "c" * 64, "reason": "cut through"}
    assert yard.wanda.scan("damaged", "CT-AC4", **told, **about(kit)).verdict == "problem"
    yard.wanda.scan("pick", "CT-AC4", quantity=5200, start="BIN1", **about(kit))
    assert fold(fresh(kit)).to_put_back == []
    assert yard.wanda.scan("put_back", "CT-AC4", target="BIN1", **about(kit)).verdict == "noted"


def test_two_short_pieces_packed_are_not_the_long_one(yard: Yard, kit: Kit) -> None:
    """3 m and 2.2 m packed for 5.2 m in one piece: all of it is still to be picked."""
    line = line_of(kit, "CT-AC4")
    yard.shelve("CT-AC4", 50_000)
    for mm in (3000, line.quantity - 3000):
        yard.wanda.scan("pick", "CT-AC4", quantity=mm, start="BIN1", **about(kit))
    total = fold(kit).totals["CT-AC4"]

    assert (total.picked, total.to_pick) == (line.quantity, line.quantity)
    assert not fold(kit).all_picked
    assert cuts(kit, line) == [("shelf", line.quantity, "BIN1", "")]


def test_what_bears_no_label_is_no_longer_than_it_came(yard: Yard, kit: Kit) -> None:
    """Three reels of 4 m are no piece of 5.2 m, nor two cut to one; of 50 m each they are.

    A package of 6 m on its code bounds them again; what a count alone told nobody has measured.
    """
    line = line_of(kit, "CT-AC4")
    (piece,) = line.pieces
    seen = []

    def look() -> None:
        words = [overviews.short_words(s) for s in sourcing.shortages(kit) if s.item == line.item]
        seen.append((cuts(kit, line)[0][0], " ".join(words).rpartition("; ")[2]))

    yard.wanda.scan("count", "CT-AC4", target="BIN1", quantity=12_000)
    look()
    for _ in range(3):
        yard.shelve("CT-AC4", 4000)
    look()
    yard.shelve("CT-AC4", 50_000)
    look()
    ItemCode.objects.create(item=line.item, text="R4", key="R4", pack_quantity=piece - 1)
    look()
    ItemCode.objects.filter(key="R4").update(pack_quantity=piece)
    look()

    assert seen == [
        ("shelf", "what is here bears no label, nobody knows how long a piece is"),
        ("short", "the longest here is 4 m"),
        ("shelf", ""),
        ("short", f"the longest here is {measure(piece - 1, 'mm')}"),
        ("shelf", ""),
    ]


def test_two_short_pieces_on_the_van_are_not_the_long_one(yard: Yard, kit: Kit) -> None:
    """The way is longer than told: 4 and 3 m on the van, 6 m at the depot, 5.8 m are needed."""
    found = changing.preview(kit, {**kit.snapshot["configuration"], "data_run": 5000})
    (net,) = [net for net in found.to_pick() if net.item == "CT-DATA"]
    seen = []
    for mm, code in ((4000, "VAN1"), (3000, "VAN1"), (6000, "BIN1"), (6000, "VAN1")):
        yard.wanda.scan("make_piece", "CT-DATA", target=code, kind="remnant", quantity=mm)
        (near,) = [one for one in nearby.near(kit, found) if one.item.code == "CT-DATA"]
        seen.append((near.lacking, [place.code for place, _ in near.elsewhere]))

    assert net.pieces == (5800,)
    assert seen == [(5800, []), (5800, []), (5800, ["BIN1"]), (0, ["BIN1"])]


def test_two_short_pieces_in_boxes_are_not_the_long_one(yard: Yard, kit: Kit) -> None:
    """3 m in the box of each of two modules for 5.2 m in one piece: all of it is to be picked.

    From the day on which one box holds 5.2 m nothing is, and the list says where it comes from;
    what was picked all the same goes back.
    """
    line, module = line_of(kit, "CT-AC4"), line_of(kit, "CT-MODULE")
    yard.shelve("CT-AC4", 50_000)
    seen = []
    for mm, since in ((3000, DAY - timedelta(2)), (5200, DAY - timedelta(1))):
        CartonContent.objects.create(box_of=module.item, item=line.item, quantity=mm, since=since)
        total = fold(kit).totals["CT-AC4"]
        seen.append((total.in_boxes, total.to_pick, [kind for kind, *_ in cuts(kit, line)]))

    assert (module.quantity, line.pieces) == (2, [5200])
    assert seen == [(0, 5200, ["shelf"]), (5200, 0, ["box"])]
    yard.wanda.scan("pick", "CT-AC4", quantity=5200, start="BIN1", **about(kit))
    assert yard.wanda.scan("put_back", "CT-AC4", target="BIN1", **about(kit)).verdict == "applied"


def test_bars_of_conduit_are_joined(yard: Yard) -> None:
    """4.2 m of conduit from two bars of 3 m: nothing is short, and the sum is packed."""
    kit = yard.kit(yard.job(ac_way="conduit"))
    line = line_of(kit, "CT-CON25")
    assert (line.quantity, line.whole) == (4200, [])
    for _ in range(2):
        yard.shelve("CT-CON25", 3000)

    assert cuts(kit, line) == [("shelf", 4200, "BIN1", "")]
    for mm in (3000, 1200):
        yard.wanda.scan("pick", "CT-CON25", quantity=mm, start="BIN1", **about(kit))
    assert fold(kit).totals["CT-CON25"].to_pick == 0
