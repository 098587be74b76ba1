"""Pictures for the demo look like photos: most are read, not all, none wrongly."""

import random

import pytest

from inventory.labels.png import png
from inventory.pictures import likeness
from inventory.pictures.likeness import photo_of, shot
from inventory.pictures.reading import read_photo
from tests.counts import counts
from tests.labels.some import BAG, EVERY

LABELS = {label.carried.decode(): png(label) for label in EVERY if label.matrix != "qr"}


def test_a_seed_gives_the_same_picture_again() -> None:
    """The demo can be walked again with equal pictures."""
    label = png(BAG)

    assert photo_of(label, random.Random(7)) == photo_of(label, random.Random(7))
    assert photo_of(label, random.Random(7)) != photo_of(label, random.Random(8))


@pytest.mark.parametrize(
    ("value", "least", "most"),
    [
        ("module", 2, 4),
        ("turn", -12, 12),
        ("blur", 0.8, 1.4),
        ("noise", 6, 12),
        ("quality", 60, 80),
    ],
)
def test_shots_keep_within_the_bounds_of_the_task(value, least, most) -> None:
    """500 shots; both halves of the range occur."""
    values = [getattr(shot(random.Random(seed)), value) for seed in range(500)]

    assert least <= min(values) < (least + most) / 2 < max(values) <= most


def test_corners_are_off_by_three_to_ten_hundredths_of_the_width() -> None:
    """Each corner by itself, in any direction."""
    far = [
        (x * x + y * y) ** 0.5 for seed in range(200) for x, y in shot(random.Random(seed)).shifts
    ]

    assert 0.03 <= min(far) < 0.04
    assert 0.09 < max(far) <= 0.1 + 1e-9


def test_something_else_than_a_picture_is_refused() -> None:
    """The words say what was expected."""
    with pytest.raises(ValueError, match="expected a picture of a label"):
        photo_of(b"no picture", random.Random(1))


@pytest.mark.slow
def test_most_pictures_are_read_and_none_wrongly() -> None:
    """At least 1 in 30 is not read (else they are too clean), at most 1 in 6; all labels known."""
    texts, number = list(LABELS), counts(90, 600)
    unread = 0
    for seed in range(number):
        truth = texts[seed % len(texts)]
        answer = read_photo(photo_of(LABELS[truth], random.Random(seed)), set(texts))
        accepted = {code.text for code in answer.codes if code.accepted}

        assert answer.refused is None
        assert accepted <= {truth}
        unread += not accepted

    assert number / 30 <= unread <= number / 6
    assert likeness.MODULE == (2.0, 4.0)
