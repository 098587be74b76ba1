"""What was seen and not read is told once, where it is; what was read is not told again."""

import io

import numpy as np
import pytest
from PIL import Image

from inventory.labels.png import png
from inventory.pictures import decoders, preparing, unread
from inventory.pictures.hit import LINEAR, Hit
from inventory.pictures.unread import Unread
from tests.labels.some import BAG, QR, UNIT
from tests.pictures import walls
from tests.pictures.test_wall import assert_told, grey_of

KINDS = {"line": "Code128", "qr": "QR", "datamatrix": "DataMatrix"}


@pytest.mark.parametrize("step", [1, 2])
def test_each_label_that_was_not_read_has_one_place(step) -> None:
    """None of sixty read under hard blur, then every second: the others are told, nothing else."""
    seen = walls.wall(60, "hard", 11)
    labels = list(zip(seen.texts, seen.symbologies, seen.boxes, strict=True))
    read = labels[1::2] if step == 2 else []
    hits = [Hit(text, KINDS[kind], box) for text, kind, box in read]
    told = unread.unread(grey_of(seen), hits)

    assert_told([one.as_json() for one in told], [box for _, _, box in labels[::step]])


def test_the_kind_is_guessed_from_the_edges() -> None:
    """Bars run one way, modules of a square code do not."""
    scene = np.full((700, 1400), 150, np.uint8)
    for left, kind, text in ((100, "line", "SN0123456789"), (900, "qr", "https://x.example/A1B2")):
        label = walls.drawn(kind, text, 5.0)
        scene[100 : 100 + label.shape[0], left : left + label.shape[1]] = label

    assert {one.kind: one.box[0] < 700 for one in unread.unread(scene, [])} == {
        "bars": True,
        "square": False,
    }


def test_words_beside_a_code_are_no_label() -> None:
    """Our own labels say in large print what they are on; all of their codes were read."""
    for label in (QR, BAG, UNIT):
        sheet = Image.open(io.BytesIO(png(label, 300))).convert("L")
        scene = np.pad(np.array(sheet), 200, constant_values=150)
        hits = decoders.zxing(preparing.raw(scene))

        assert {hit.symbology in LINEAR for hit in hits} == {True, False}
        assert unread.unread(scene, hits) == []


def test_what_the_picture_s_edge_cuts_is_no_label_of_it() -> None:
    """Nor is plain ground, nor the smallest picture."""
    label = walls.drawn("qr", "https://x.example/A1B2", 5.0).astype(np.uint8)
    scene = np.full((700, 900), 150, np.uint8)
    scene[: label.shape[0] - 80, 200 : 200 + label.shape[1]] = label[80:]

    assert unread.unread(scene, []) == []
    assert unread.unread(np.full((32, 32), 200, np.uint8), []) == []


def test_a_thin_box_of_a_line_code_stands_for_all_its_bars() -> None:
    """A decoder tells the rows that it read, at the upper or the lower end of the bars."""
    label = walls.drawn("line", "SN0123456789", 5.0)
    scene = np.full((700, 1100), 150, np.uint8)
    scene[200 : 200 + label.shape[0], 200 : 200 + label.shape[1]] = label
    quiet = round(10 * 5.0)
    rows = (200 + quiet, 200 + label.shape[0] - quiet - 4)
    boxes = [(200 + quiet, row, label.shape[1] - 2 * quiet, 4) for row in rows]

    assert [unread.unread(scene, [Hit("SN0123456789", "Code128", box)]) for box in boxes] == [
        [],
        [],
    ]


def test_a_later_step_takes_its_label_from_what_is_told() -> None:
    """Shown from top to bottom."""
    places = [Unread((10, 500, 90, 90), "square"), Unread((300, 40, 200, 80), "bars")]

    assert unread.besides(places, []) == places[::-1]
    assert unread.besides(places, [Hit("A1B2C3", "Code128", (310, 70, 180, 20))]) == places[:1]
    assert places[1].as_json() == {"box": [300, 40, 200, 80], "kind": "bars"}
