"""Counts: what the hand finds stands, whatever the book had."""

import pytest

from inventory import audit
from inventory.models import Finding, Holding, Item, ItemCode, Kept, Lot, RecordMark
from inventory.moving import nameless
from inventory.queries import held, latest_mark
from tests.firm import Firm, Phone

BRACKETS, SEALANT = "09521234000020", "09521234000037"


@pytest.mark.parametrize(
    ("counted", "sentence"),
    [
        (10, "10 x Bracket: as the book has it."),
        (13, "13 x Bracket: the book had 10 and is put right."),
        (7, "7 x Bracket: the book had 10 and is put right."),
    ],
)
def test_the_book_is_set_to_the_count(shop: Firm, counted: int, sentence: str) -> None:
    """More, fewer, the same: from now on the item is kept there."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    done = shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=counted)

    assert (done.verdict, done.sentence) == ("applied", sentence)
    assert held(shop.bins[0], nameless(shop.bracket)) == counted
    assert Kept.objects.get().place == shop.bins[0]


def test_none_is_a_count(shop: Firm) -> None:
    """A quantity of nought is said by its own word: a forgotten number is not nought."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    forgotten = shop.wanda.scan("count", BRACKETS, target="BIN1")
    none = shop.wanda.scan("count", BRACKETS, target="BIN1", kind="none")

    assert (forgotten.verdict, forgotten.sentence) == ("stopped", "Say how many there are.")
    assert none.verdict == "applied"
    assert held(shop.bins[0], nameless(shop.bracket)) == 0


def test_what_lacks_goes_from_the_batch_that_expires_first(shop: Firm) -> None:
    """Without a batch named, the older one is believed used."""
    for lot, day in (("LOTB", "270630"), ("LOTA", "270331")):
        label = f"]C101{SEALANT}17{day}10{lot}"
        shop.wanda.scan("receive", label, target="BIN1", via="symbol", quantity=1000)
    shop.wanda.scan("count", SEALANT, target="BIN1", quantity=700)

    rows = Holding.objects.filter(place=shop.bins[0]).values_list("lot__key", "quantity")
    assert dict(rows) == {"LOTA": 0, "LOTB": 700}


def test_one_batch_is_counted_alone(shop: Firm) -> None:
    """The other batch on the shelf is not touched."""
    for lot in ("LOTA", "LOTB"):
        label = f"]C101{SEALANT}10{lot}"
        shop.wanda.scan("receive", label, target="BIN1", via="symbol", quantity=1000)
    shop.wanda.scan("count", f"]C101{SEALANT}10LOTB", target="BIN1", via="symbol", quantity=400)

    rows = Holding.objects.filter(place=shop.bins[0]).values_list("lot__key", "quantity")
    assert dict(rows) == {"LOTA": 1000, "LOTB": 400}


def test_things_with_serials_are_not_counted(shop: Firm) -> None:
    """Each of them is scanned."""
    done = shop.wanda.scan("count", "09521234000013", target="BIN1", quantity=3)

    assert done.verdict == "stopped"


AGAIN = "Nothing is booked: count it again."


def now() -> str:
    """The record mark that a browser notes with a count."""
    return "{size}:{root}".format(**latest_mark())


def clean() -> bool:
    return [done for done in audit.run() if done.problems] == []


def put(who: Phone, quantity: int, **more: str) -> str:
    """Somebody takes so many from bin 1 meanwhile; the event's id."""
    to = {"start": "BIN1", "target": "BIN2"} | more
    return who.scan("put", BRACKETS, quantity=quantity, **to).id


def test_a_count_is_compared_with_the_book_as_it_was_when_counted(shop: Firm) -> None:
    """Ten in the book, three leave while the count waits: of nine nobody can tell what lacks.

    The recount, with nothing moved since, ends it.
    """
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    early = {"target": "BIN1", "since": now()}
    put(shop.mona, 3)
    asked = shop.wanda.scan("count", BRACKETS, quantity=9, **early)
    still = shop.wanda.scan("count", BRACKETS, quantity=8, **early)

    said = "9 x Bracket, but 3 moved in or out since it was counted. "
    assert (asked.verdict, asked.sentence) == ("problem", said + AGAIN)
    assert still.verdict == "problem"
    assert (held(shop.bins[0], nameless(shop.bracket)), Kept.objects.count()) == (7, 0)
    finding = Finding.objects.get(kind="count", place=shop.bins[0], item=shop.bracket, answer=None)
    assert finding.words == "Count Bracket at Bin 1 again: 3 moved in or out while it was counted."

    recount = shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=6, since=now())

    assert recount.sentence == "6 x Bracket: the book had 7 and is put right."
    assert (held(shop.bins[0], nameless(shop.bracket)), Kept.objects.count()) == (6, 1)
    assert not Finding.objects.filter(kind="count", answer=None).exists()

    early["since"] = now()
    put(shop.mona, 1)
    put(shop.mona, 1)
    for counted, words in (
        (6, "as the book had it when it was counted"),
        (5, "as the book had it when it was counted"),
        (4, "as the book has it"),
    ):
        done = shop.wanda.scan("count", BRACKETS, quantity=counted, **early)
        assert done.sentence == f"{counted} x Bracket: {words}."
        assert held(shop.bins[0], nameless(shop.bracket)) == 4
    assert clean()


def test_in_and_out_again_leaves_no_telling_either(shop: Firm) -> None:
    """Three out and three in: counted between them, seven are right and nothing is missing."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    early = {"target": "BIN1", "since": now()}
    put(shop.mona, 3)
    put(shop.mona, 3, start="BIN2", target="BIN1")
    between = shop.wanda.scan("count", BRACKETS, quantity=7, **early)
    neither = shop.wanda.scan("count", BRACKETS, quantity=8, **early)

    assert (between.verdict, neither.verdict) == ("applied", "problem")
    assert "6 moved in or out" in neither.sentence
    assert held(shop.bins[0], nameless(shop.bracket)) == 10


def test_what_one_did_before_counting_and_what_never_was_changes_nothing(shop: Firm) -> None:
    """The own scans came before the count; a move undone since was none; serials are their own."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    early = {"target": "BIN1", "since": now()}
    put(shop.wanda, 2)
    shop.mona.scan("undo", reverses=put(shop.mona, 3))
    shop.mona.scan("receive", "]C1010952123400001321SN1", target="BIN1", via="symbol")
    put(shop.mona, 1, start="BIN2", target="BIN3")
    done = shop.wanda.scan("count", BRACKETS, quantity=7, **early)

    assert done.sentence == "7 x Bracket: the book had 8 and is put right."

    # Another browser of the same person is another device: what it sent may have been after.
    early["since"] = now()
    taken = put(shop.phone(shop.wanda.person), 2)
    assert shop.wanda.scan("count", BRACKETS, quantity=6, **early).verdict == "problem"

    # Undone after the mark, done before it: a change like any other.
    early["since"] = now()
    shop.mona.scan("undo", reverses=taken)
    assert shop.wanda.scan("count", BRACKETS, quantity=6, **early).verdict == "problem"
    assert shop.wanda.scan("count", BRACKETS, quantity=7, **early).verdict == "applied"
    assert clean()


def test_two_who_counted_at_once_have_to_agree(shop: Firm) -> None:
    """What the first count put right was wrong before it too: the second must find the same."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    early = {"target": "BIN1", "since": now()}
    shop.mona.scan("count", BRACKETS, target="BIN1", quantity=8)
    same = shop.wanda.scan("count", BRACKETS, quantity=8, **early)
    other = shop.wanda.scan("count", BRACKETS, quantity=10, **early)

    assert same.sentence == "8 x Bracket: as the book has it."
    said = "10 x Bracket, but somebody else counted there since it was counted. "
    assert (other.verdict, other.sentence) == ("problem", said + AGAIN)
    assert held(shop.bins[0], nameless(shop.bracket)) == 8


def test_a_line_without_a_moment_is_compared_with_the_book_as_it_is(shop: Firm) -> None:
    """So is one whose mark this record does not know: it was put back from an old copy since."""
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=10)
    put(shop.mona, 3)
    known = RecordMark.objects.order_by("size")[0]
    about = {"target": "BIN1", "since": f"{known.size}:{known.root}"}
    ours = shop.wanda.scan("count", BRACKETS, **about, quantity=9)
    old = shop.wanda.scan("count", BRACKETS, target="BIN1", quantity=9)
    about["since"] = f"{known.size}:{'0' * 64}"
    foreign = shop.wanda.scan("count", BRACKETS, **about, quantity=8)

    assert ours.verdict == "problem"
    assert old.sentence == "9 x Bracket: the book had 7 and is put right."
    assert foreign.sentence == "8 x Bracket: the book had 9 and is put right."
    assert clean()


def test_batches_bags_weights_and_reels_are_compared_in_the_same_way(shop: Firm) -> None:
    """Each by its own batch; within what a scale can tell, as the book was at one of the steps."""
    for lot in ("LOTA", "LOTB"):
        label = f"]C101{SEALANT}10{lot}"
        shop.wanda.scan("receive", label, target="BIN1", via="symbol", quantity=1000)
    shop.wanda.scan("receive", BRACKETS, target="BIN1", quantity=250)
    cable = Item.objects.create(code="CAB", name="Cable", tracking="length", unit="mm")
    ItemCode.objects.create(item=cable, text="09521234000075", key="09521234000075")
    shop.wanda.scan("receive", "CAB", target="BIN1", quantity=60_000)
    reel = {"kind": "reel", "number": 412, "quantity": 60_000}
    shop.wanda.scan("make_piece", "CAB", target="BIN1", **reel)
    number = Lot.objects.get(parent__item=cable).number
    early = {"target": "BIN1", "since": now()}
    away = {"start": "BIN1", "target": "BIN2"}
    shop.mona.scan("put", f"]C101{SEALANT}10LOTB", via="symbol", quantity=600, **away)
    put(shop.mona, 8)
    shop.mona.scan("put", number, target="BIN2")

    def count(text: str, **more: object) -> str:
        done = shop.wanda.scan("count", text, **early, **more)
        return done.verdict if done.verdict == "problem" else done.sentence.split(": ")[1]

    then = "as the book had it when it was counted."
    batch = {"via": "symbol"}
    assert (
        count(f"]C101{SEALANT}10LOTA", **batch, quantity=900)
        == "the book had 1 ml and is put right."
    )
    assert count(f"]C101{SEALANT}10LOTB", **batch, quantity=1000) == then
    assert count(f"]C101{SEALANT}10LOTB", **batch, quantity=700) == "problem"
    assert count(BRACKETS, kind="bags", number=62, quantity=2) == then
    assert count(BRACKETS, kind="bags", number=61) == "problem"
    assert count(BRACKETS, kind="weight", number=40, quantity=1000) == then  # 246 to 254
    assert count(BRACKETS, kind="weight", number=40, quantity=968) == "as the book has it."
    assert count(BRACKETS, kind="weight", number=40, quantity=900) == "problem"
    assert count(number, kind="mark", number=352) == then
    assert count(number, kind="mark", number=372) == "problem"
    assert (held(shop.bins[0], nameless(shop.bracket)), clean()) == (242, True)
