"""What one photo does to its process is felt by that photo alone."""

import os
import re
import threading
from collections.abc import Iterator

import pytest
from PIL import Image

from inventory.labels.png import png
from inventory.pictures.errors import KINDS, AllBusy, ChildDied
from inventory.pictures.pool import Pool
from inventory.pictures.reading import read_photo
from tests.counts import counts
from tests.labels.some import BAG
from tests.pictures import hostile

CODE = BAG.carried.decode()
WORK = "tests.pictures.hostile_work:"


@pytest.fixture(scope="module")
def pool() -> Iterator[Pool]:
    """The pool as the server has it, less its second process."""
    found = Pool("inventory.pictures.looking:look", size=1)
    yield found
    found.close()


def process_of(pool: Pool) -> int:
    """Its first process, after a photo was read in it as ever."""
    answer = read_photo(png(BAG), {CODE}, child=pool)
    assert {code.text for code in answer.codes if code.accepted} == {CODE}
    process = pool.children[0]._process
    assert process is not None
    return process.pid


def hostile_pictures() -> Iterator[tuple[str, bytes, str]]:
    """(name, file, kind of refusal or "") of reliability.md section 9, whichever is a picture."""
    yield "1 bomb", hostile.flat_png(20_000, 20_000), "pixels"
    yield "2 bomb under a library's limit", hostile.flat_png(13_300, 13_300), "pixels"
    yield "3 tall", hostile.flat_png(1, 60_000), "sides"
    yield "3 wide", hostile.flat_png(60_000, 1), "sides"
    yield "3 band", hostile.flat_png(32, 60_000), "sides"
    yield "3 longest that is taken", hostile.flat_png(10_000, 32), ""
    yield "5 web page behind", hostile.script_behind_jpeg(), ""
    yield "6 talkative", hostile.talkative_jpeg(), ""
    yield "7 moving", hostile.moving_png(2_000), "frames"
    yield from ((f"7 {what}", data, "type") for what, data in hostile.foreign_files())
    yield "9 squares", hostile.module_noise(310), ""
    for text in ("Müller-Straße 5", "é", "日本"):
        yield f"11 {text}", hostile.saved(hostile.qr_image(text), "PNG"), ""
    for text in ("javascript:alert(1)", "https://x.invalid/?t=1", "WIFI:S:a;P:b;;", "x" * 2_900):
        yield f"12 {text[:9]}", hostile.saved(hostile.qr_image(text), "PNG"), ""
    yield "CMYK", hostile.saved(Image.new("CMYK", (300, 200)), "JPEG"), ""
    yield "16 bits", hostile.saved(Image.new("I;16", (300, 200), 40_000), "PNG"), ""
    yield "cut", hostile.saved(hostile.code_image(scale=20), "JPEG")[:-900], "damaged"


@pytest.mark.parametrize(
    ("data", "kind"),
    [pytest.param(data, kind, id=name) for name, data, kind in hostile_pictures()],
)
def test_a_hostile_picture_costs_at_most_itself(pool, data, kind) -> None:
    """A named refusal or an answer in which nothing counts; the process goes on."""
    before = process_of(pool)
    answer = read_photo(data, {CODE}, shelf=True, keep=True, child=pool)

    assert (answer.refused.kind if answer.refused else "") == kind
    assert not any(mark in answer.stored for mark in (*hostile.MARKS, b"script"))
    assert not [code for code in answer.codes if code.accepted and code.text != CODE]
    assert process_of(pool) == before


def test_random_files_give_random_answers_and_no_death(pool) -> None:
    """Squares at random, and good pictures cut, flipped and joined: a kind or nothing that counts.

    500 of them in `make prove`; a process that did not survive one would be another one after.
    """
    before, kinds = process_of(pool), set()
    for seed in range(counts(40, 500)):
        answer = read_photo(hostile.random_file(seed), {"A1B2"}, shelf=bool(seed % 2), child=pool)
        kinds.add(answer.refused.kind if answer.refused else "")

        assert answer.refused is None or answer.refused.kind in set(KINDS) - {"busy", "unreadable"}
        assert not any(code.accepted for code in answer.codes), seed

    assert {"", "damaged", "type"} <= kinds
    assert process_of(pool) == before


def test_a_crash_costs_one_photo_while_the_others_go_on() -> None:
    """Four photos at once, one of which ends its process: three answers, one ChildDied."""
    pool = Pool(f"{WORK}crash_on_word", size=2, patience=5.0)
    got: dict[int, str] = {}

    def ask(number: int) -> None:
        try:
            data = b"crash" if number == 1 else b"fine"
            pool.ask({}, data, lambda head, blob: got.setdefault(number, head["said"]) == "")
        except ChildDied:
            got[number] = "died"

    askers = [threading.Thread(target=ask, args=(number,)) for number in range(4)]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join(30)
    for _ in range(3):  # more deaths than processes
        with pytest.raises(ChildDied):
            pool.ask({}, b"crash", lambda head, blob: True)
    pool.ask({}, b"fine", lambda head, blob: got.setdefault(4, head["said"]) == "")
    pool.close()

    assert got.pop(4) == "fine"
    assert got == {0: "fine", 1: "died", 2: "fine", 3: "fine"}


def test_a_process_killed_in_the_middle_of_a_photo_is_replaced() -> None:
    """The photo itself is read again in a fresh process; the caller sees only its answer."""
    pool = Pool("inventory.pictures.looking:look", size=1)
    first = process_of(pool)
    wall = hostile.module_noise(7)

    def kill_it() -> None:
        os.kill(first, 9)

    asked: list[str] = []

    def known(text: str, symbology: str) -> None:
        asked.append(text)
        if len(asked) == 1:
            kill_it()

    answer = read_photo(png(BAG), known, shelf=True, child=pool)
    again = read_photo(wall, {CODE}, child=pool)
    now = process_of(pool)
    pool.close()

    assert CODE in {code.text for code in answer.codes}
    assert answer.refused is None
    assert again.refused is None
    assert now != first


def test_a_photo_waits_for_a_free_process_and_no_longer_than_that() -> None:
    """Refused as busy, in words that say what to do; the photo in hand is not disturbed."""
    pool = Pool(f"{WORK}echo", size=1, patience=0.2)
    began, enough = threading.Event(), threading.Event()

    def hold(head: dict[str, object], blob: bytes) -> bool:
        began.set()
        assert enough.wait(30)
        return False

    holder = threading.Thread(target=pool.ask, args=({}, b"", hold))
    holder.start()
    assert began.wait(30)
    words = "expected one of 1 decoding processes to be free within 0.2 seconds, got none"
    with pytest.raises(AllBusy, match=re.escape(words)):
        pool.ask({}, b"", hold)
    answer = read_photo(png(BAG), {CODE}, child=pool)
    enough.set()
    holder.join(30)

    assert answer.refused is not None
    assert answer.refused.kind == "busy"
    assert "send the photo again" in answer.refused.message
    pool.ask({}, b"", lambda head, blob: False)  # free again
    pool.close()
