"""A photo goes in, an answer comes out, whatever the photo is."""

import io
import json
from typing import Any

import numpy as np
import pytest
from PIL import Image

from inventory.labels.png import png
from inventory.pictures.accepting import Known
from inventory.pictures.child import Child, Limits
from inventory.pictures.errors import PhotoRefused
from inventory.pictures.reading import clean_photo, read_file, read_photo
from tests.counts import counts
from tests.labels.some import BAG, UNIT
from tests.pictures import hostile
from tests.pictures.singles import LINES, drawn, near, single

CODE = BAG.carried.decode()


def test_a_label_is_read_and_counts_when_known() -> None:
    """Our own label, both codes, one accepted text each."""
    answer = read_photo(png(BAG), {CODE})

    assert answer.refused is None
    assert {(code.symbology, code.accepted) for code in answer.codes} == {
        ("Code128", True),
        ("DataMatrix", True),
    }
    assert answer.steps == ("zxing",)


def test_with_nothing_known_the_text_is_shown_and_does_not_count() -> None:
    """Nothing is accepted, and no time is lost on further steps."""
    answer = read_photo(png(BAG))

    assert [(code.text, code.accepted) for code in answer.codes] == [(CODE, False)] * 2
    assert answer.steps == ("zxing",)


def test_an_unknown_text_is_looked_at_in_every_way() -> None:
    """The first read may be the wrong one; after all steps it still does not count."""
    answer = read_photo(png(BAG), {CODE[:-1]})

    assert not any(code.accepted for code in answer.codes)
    assert answer.codes[0].why == "matches nothing that is known"
    assert len(answer.steps) > 5


def test_the_question_may_be_a_function() -> None:
    """A catalogue in a database answers one text at a time."""
    asked = []

    def known(text: str, symbology: str) -> str | None:
        asked.append((text, symbology))
        return "unit 7" if symbology == "GS1DataMatrix" else None

    answer = read_photo(png(UNIT), known)

    assert [code.why for code in answer.codes if code.accepted] == ["is the known unit 7"]
    assert set(asked) == {(UNIT.carried.decode(), kind) for kind in ("GS1-128", "GS1DataMatrix")}


def test_an_itf_code_of_other_than_14_digits_counts_only_whole() -> None:
    """A piece of a case code must not become the article number that it looks like.

    Decoders take the first 4 to 12 digits for the whole (419 of 445 wrong reads, measured).
    """
    twelve, fourteen = (
        hostile.saved(Image.fromarray(np.pad(drawn(text, "ITF"), 40, constant_values=255)), "PNG")
        for text in ("012345678905", "09521234543213")
    )

    def article(text: str, symbology: str) -> str:
        return text.zfill(14)

    def taken(data: bytes, known: Known | set[str]) -> list[str]:
        return [code.text for code in read_photo(data, known).codes if code.accepted]

    assert taken(twelve, article) == []
    assert taken(twelve, {"00012345678905"}) == []
    assert taken(twelve, {"012345678905"}) == ["012345678905"]
    assert taken(fourteen, article) == ["09521234543213"]
    assert taken(fourteen, {"095212345432", "0952123454", "09521234"}) == []


@pytest.mark.parametrize("kind", LINES)
def test_drawn_photos_give_their_text_or_nothing(kind) -> None:
    """Bad photos with the truth, its near miss and all others' known; no wrong text is taken."""
    singles = [single(seed, (kind,)) for seed in range(counts(2, 60))]
    known = {t for each in singles for t in (each.text, near(each.text, kind))}
    read = 0
    for each in singles:
        codes = read_photo(hostile.saved(Image.fromarray(each.grey), "PNG"), known).codes
        found = {code.text.zfill(14) for code in codes if code.accepted}
        read += bool(found)

        assert found <= {each.text.zfill(14)}
    assert read > 0


def test_what_is_kept_is_asked_for() -> None:
    """The clean JPEG, upright; a box lies within it."""
    answer = read_photo(hostile.talkative_jpeg(), {CODE}, keep=True)
    left, top, width, height = answer.codes[0].box

    assert answer.size == (400, 300)
    assert (left, top) == pytest.approx((10 + 8, 20 + 8), abs=12)
    assert left + width < 200
    assert top + height < 200
    assert not any(mark in answer.stored for mark in hostile.MARKS)
    assert read_photo(hostile.talkative_jpeg(), {CODE}).stored == b""


def test_what_is_only_kept_is_not_searched(monkeypatch: pytest.MonkeyPatch) -> None:
    """A picture of damage costs its cleaning: the search through noise took a process its ten
    seconds, and then the photo was refused. What is no photo is refused as ever."""
    answers: list[dict[str, Any]] = []

    class Watched(Child):
        def ask(self, head, blob, more):
            super().ask(head, blob, lambda *one: answers.append(one[0]) or more(*one))

    child = Watched("inventory.pictures.looking:look")
    kept = clean_photo(hostile.talkative_jpeg(), child)
    with pytest.raises(PhotoRefused, match="expected"):
        clean_photo(b"I am no photo", child)
    child.close()

    assert [set(one) for one in answers] == [{"size", "note"}]
    assert kept.startswith(b"\xff\xd8")
    assert not any(mark in kept for mark in hostile.MARKS)


def test_a_shelf_is_read_whole() -> None:
    """Two labels in one photo: both are told, though the first one counts already."""
    shelf = Image.new("L", (1300, 400), 255)
    for place, label in ((20, BAG), (660, UNIT)):
        shelf.paste(Image.open(io.BytesIO(png(label))), (place, 50))
    answer = read_photo(hostile.saved(shelf, "PNG"), {CODE}, shelf=True)

    assert {(code.text, code.accepted) for code in answer.codes} == {
        (CODE, True),
        (UNIT.carried.decode(), False),
    }
    assert len(answer.steps) == 4


def test_the_catalogue_is_asked_once_for_each_text() -> None:
    """A question costs a look into the database; a text in many steps costs it once."""
    asked = []

    def known(text: str, symbology: str) -> None:
        asked.append((text, symbology))

    answer = read_photo(png(BAG), known)

    assert len(answer.steps) > 5
    assert sorted(asked) == [(CODE, "Code128"), (CODE, "DataMatrix")]


@pytest.mark.parametrize("work", ["crash", "swell"])
def test_a_photo_that_ends_the_decoder_twice_is_unreadable(work) -> None:
    """Two fresh processes died of it: no third is tried, the caller gets a refusal."""
    child = Child(f"tests.pictures.hostile_work:{work}", Limits(memory=600_000_000))
    answer = read_photo(png(BAG), {CODE}, child=child)
    child.close()

    assert answer.codes == ()
    assert answer.refused.kind == "unreadable"
    assert answer.refused.message.startswith("expected a photo that can be read, got none of it")


def test_a_process_that_died_of_an_earlier_photo_costs_nothing(tmp_path, monkeypatch) -> None:
    """The second try is a fresh process, and its answer counts."""
    child = Child("tests.pictures.hostile_work:crash_once")
    mark = tmp_path / "mark"
    # The hostile work takes the photo's bytes for a file name, so the server must not look first.
    monkeypatch.setattr("inventory.pictures.reading.check_header", lambda data: None)
    seen = read_photo(str(mark).encode(), {"A1B2"}, child=child)
    child.close()

    assert mark.exists()
    assert [code.text for code in seen.codes] == ["A1B2"]


def test_a_file_gives_one_answer_line(tmp_path) -> None:
    """The shape of the contract; it goes through JSON unchanged."""
    path = tmp_path / "photo.html.png"
    path.write_bytes(png(BAG))
    line = json.loads(json.dumps(read_file(path, {CODE})))

    assert set(line) == {"file", "codes", "refused", "unread"}
    assert line["file"] == str(path)
    assert line["refused"] is None
    assert [set(code) for code in line["codes"]] == [
        {"text", "symbology", "box", "accepted", "why"}
    ] * len(line["codes"])
    assert [code["text"] for code in line["codes"] if code["accepted"]]


@pytest.mark.parametrize(
    ("name", "data", "kind", "message"),
    [
        ("absent.jpg", None, "missing", "expected a file, got No such file or directory"),
        ("text.jpg", b"hello", "type", "expected a JPEG, PNG or WebP picture, got plain text"),
        ("much.jpg", b"x" * 16_000_000, "bytes", "expected 1 to 15,000,000 bytes"),
    ],
)
def test_a_file_that_is_no_photo_gives_a_refusal(tmp_path, name, data, kind, message) -> None:
    """The line names the file, the kind and what was expected."""
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    line = read_file(path, {CODE})

    assert line["codes"] == []
    assert line["refused"]["kind"] == kind
    assert line["refused"]["message"].startswith(message)


def test_a_bomb_is_refused_without_the_decoder(monkeypatch) -> None:
    """20,000 x 20,000: the child never sees it."""
    child = Child("tests.pictures.hostile_work:crash")
    answer = read_photo(hostile.flat_png(20_000, 20_000), {CODE}, child=child)

    assert answer.refused.kind == "pixels"
    assert child._process is None
