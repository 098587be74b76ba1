"""Only still JPEG, PNG and WebP pictures of sensible size are taken, and only their pixels kept."""

import io
import subprocess
import sys

import pytest
from PIL import Image, ImageFile

from inventory.pictures.errors import PhotoRefused
from inventory.pictures.photo import LONGEST, MOST_BYTES, check_file, check_header
from tests.pictures import hostile
from tests.tree import TOP


def refusal_of(data: bytes) -> tuple[str, str]:
    """Kind and message of the refusal of a file."""
    with pytest.raises(PhotoRefused) as refusal:
        check_file(data)
    return refusal.value.kind, refusal.value.message


@pytest.fixture
def undecoded(monkeypatch: pytest.MonkeyPatch) -> None:
    """No pixel is decoded: that takes seconds and memory where the picture is made to hurt."""

    def load(image: Image.Image) -> None:
        raise AssertionError(f"expected no pixel to be decoded, got {image}")

    monkeypatch.setattr(ImageFile.ImageFile, "load", load)


@pytest.mark.usefixtures("undecoded")
@pytest.mark.parametrize(
    ("size", "kind", "got"),
    [
        ((20_000, 20_000), "pixels", "got 400,000,000"),  # row 1
        ((13_300, 13_300), "pixels", "the picture is too large"),  # row 2: under Pillow's own limit
        ((1, 60_000), "sides", "got 1 x 60,000"),  # row 3
        ((60_000, 1), "sides", "got 60,000 x 1"),  # row 3: held pyzbar for 2 to 11 s
        ((32, 60_000), "sides", "got 32 x 60,000"),  # row 3
        ((31, 500), "sides", "expected sides of 32 to 10,000 pixels, got 31 x 500"),
        ((4_900, 4_900), "pixels", "expected at most 24,000,000 pixels, got 24,010,000"),
    ],
)
def test_a_picture_of_the_wrong_size_is_refused_before_it_is_decoded(size, kind, got) -> None:
    """With the limit and the size that came."""
    found, message = refusal_of(hostile.flat_png(*size))

    assert found == kind
    assert got in message


def test_a_bomb_takes_no_memory() -> None:
    """The 20,000 x 20,000 PNG is refused with less than 60 MB more than the start took."""
    program = (
        "import resource, sys; from inventory.pictures.photo import check_header\n"
        "from inventory.pictures.errors import PhotoRefused\n"
        "data = sys.stdin.buffer.read(); before = resource.getrusage(0).ru_maxrss\n"
        "try: check_header(data)\n"
        "except PhotoRefused: print(resource.getrusage(0).ru_maxrss - before)\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", program],
        input=hostile.flat_png(20_000, 20_000),
        capture_output=True,
        cwd=TOP,
        check=True,
    )

    assert int(run.stdout) < 60_000  # kB


@pytest.mark.usefixtures("undecoded")
def test_a_webp_bomb_is_refused_too() -> None:
    """25 million px of nothing."""
    kind, message = refusal_of(hostile.wide_webp())

    assert kind == "pixels"
    assert "got 25,200,000" in message


def test_a_picture_at_the_limits_is_taken() -> None:
    """The longest and the shortest side that are allowed."""
    photo = check_file(hostile.flat_png(LONGEST, 32))

    assert (photo.width, photo.height) == (LONGEST, 32)


@pytest.mark.parametrize("data", [b"", b"x" * (MOST_BYTES + 1)], ids=["empty", "too many"])
def test_the_number_of_bytes_is_limited(data) -> None:
    """Nothing, or more than 15 MB."""
    kind, message = refusal_of(data)

    assert kind == "bytes"
    assert message == f"expected 1 to 15,000,000 bytes, got {len(data):,}"


@pytest.mark.parametrize(
    ("what", "data"), list(hostile.foreign_files()), ids=lambda value: str(value)[:9]
)
def test_a_file_of_another_kind_is_told_what_it_is(what, data) -> None:
    """A text named .jpg is refused by what it holds, whatever its name is."""
    kind, message = refusal_of(data)

    assert kind == "type"
    assert message == f"expected a JPEG, PNG or WebP picture, got {what}"


def test_a_moving_picture_is_refused() -> None:
    """Row 7: no number of frames but one."""
    kind, message = refusal_of(hostile.moving_png(50))

    assert (kind, message) == ("frames", "expected one still picture, got 50 frames")


@pytest.mark.parametrize("keep", [0.3, 0.6, 0.95])
@pytest.mark.parametrize("format_", ["JPEG", "PNG", "WEBP"])
def test_half_a_picture_is_refused(format_, keep) -> None:
    """An upload that broke off is not read as far as it goes."""
    whole = hostile.saved(hostile.code_image(scale=20), format_)
    kind, _ = refusal_of(whole[: int(len(whole) * keep)])

    assert kind in {"damaged", "type"}


def test_nothing_but_pixels_is_kept() -> None:
    """Row 6: place, comment, XMP, thumbnail text are gone, and the picture stands upright."""
    data = hostile.talkative_jpeg()
    photo = check_file(data)
    stored = photo.jpeg()

    assert any(mark in data for mark in hostile.MARKS)
    assert not any(mark in stored for mark in hostile.MARKS)
    assert not Image.open(io.BytesIO(stored)).getexif()
    assert (photo.width, photo.height) == (400, 300)


def test_what_hangs_behind_a_picture_is_not_kept() -> None:
    """Row 5: the page behind the JPEG is cut off."""
    assert b"script" not in check_file(hostile.script_behind_jpeg()).jpeg()


def test_see_through_parts_become_white() -> None:
    """A label cut out in a drawing program has black codes on nothing."""
    image = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    image.paste((0, 0, 0, 255), (0, 0, 32, 64))
    grey = check_file(hostile.saved(image, "PNG")).grey()

    assert grey[10, 10] == 0
    assert grey[10, 50] == 255


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "I;16", "CMYK"])
def test_every_way_of_storing_colour_is_taken(mode) -> None:
    """Scanners and cameras store differently; the pixels come out as 8-bit grey."""
    image = Image.new(mode, (40, 50))
    format_ = "JPEG" if mode == "CMYK" else "PNG"
    photo = check_file(hostile.saved(image, format_))

    assert photo.grey().shape == (50, 40)
    assert photo.image.mode in {"L", "RGB"}


def test_a_phone_picture_with_a_second_view_is_taken() -> None:
    """JPEG files with two views are common on phones; the first one counts."""
    first, second = Image.new("L", (64, 48), 200), Image.new("L", (64, 48), 10)
    data = hostile.saved(first, "MPO", save_all=True, append_images=[second])

    assert check_header(data).format == "MPO"
    assert check_file(data).grey().mean() > 190
