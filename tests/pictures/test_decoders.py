"""Two decoders in one shape; the doubtful is left out."""

import builtins

import numpy as np
import pytest
import zxingcpp

from inventory.pictures import decoders, preparing

FORMAT = zxingcpp.BarcodeFormat


@pytest.fixture(autouse=True)
def fresh_library():
    """What was found out about pyzbar is forgotten before and after."""
    library = decoders._library
    library.cache_clear()
    yield
    library.cache_clear()


def drawn(content, format_, **options) -> preparing.Prepared:
    """A clean picture of one symbol on white."""
    symbol = zxingcpp.create_barcode(content, format_, **options)
    pixels = np.array(zxingcpp.write_barcode_to_image(symbol, scale=4))
    return preparing.raw(np.pad(pixels, 40, constant_values=255))


@pytest.mark.parametrize(
    ("content", "format_", "options", "symbology", "text"),
    [
        ("LBG000007W", FORMAT.Code128, {}, "Code128", "LBG000007W"),
        ("LBG000007W", FORMAT.Code39, {}, "Code39", "LBG000007W"),
        ("9521234543213", FORMAT.EAN13, {}, "EAN13", "9521234543213"),
        ("012345678905", FORMAT.UPCA, {}, "EAN13", "0012345678905"),
        ("09521234543213", FORMAT.ITF, {}, "ITF", "09521234543213"),
        ("LBG000007W", FORMAT.QRCode, {}, "QR", "LBG000007W"),
        ("LBG000007W", FORMAT.DataMatrix, {}, "DataMatrix", "LBG000007W"),
        ("LBG000007W", FORMAT.Aztec, {}, "Aztec", "LBG000007W"),
        ("LBG000007W", FORMAT.PDF417, {}, "PDF417", "LBG000007W"),
        ("[10]L7[21]A1", FORMAT.Code128, {"gs1": True}, "GS1-128", "10L7\x1d21A1"),
        ("[10]L7[21]A1", FORMAT.DataMatrix, {"gs1": True}, "GS1DataMatrix", "10L7\x1d21A1"),
        ("[10]L7[21]A1", FORMAT.QRCode, {"gs1": True}, "GS1QR", "10L7\x1d21A1"),
    ],
)
def test_zxing_names_the_symbology_and_keeps_the_text(
    content, format_, options, symbology, text
) -> None:
    """GS1 only where the symbol says so; the separator is in the text, brackets are not."""
    found = decoders.zxing(drawn(content, format_, **options))

    assert [(hit.symbology, hit.text) for hit in found] == [(symbology, text)]


@pytest.mark.parametrize("format_", [FORMAT.EAN8, FORMAT.UPCE, FORMAT.Codabar, FORMAT.Code93])
def test_kinds_that_are_pieces_of_others_are_off(format_) -> None:
    """Decoders make these out of other codes (measured).

    libzbar turns UPC-E into 13 digits whatever is asked for; only what is known counts there.
    """
    content = {"EAN8": "96385074", "UPCE": "01234565", "Codabar": "A123456A"}
    picture = drawn(content.get(format_.name, "ABC123"), format_)

    assert decoders.zxing(picture) == []
    assert format_ == FORMAT.UPCE or decoders.zbar(picture) == []


@pytest.mark.parametrize("text", ["Müller-Straße 5", "é", "日本"])
def test_letters_beyond_ascii_come_out_right_or_not_at_all(text) -> None:
    """libzbar takes UTF-8 for an Asian alphabet and back; its guesses are not taken."""
    for content in (text, text.encode()):
        picture = drawn(content, FORMAT.QRCode)

        assert [hit.text for hit in decoders.zxing(picture)] == [text]
        assert decoders.zbar(picture) == []


def test_bytes_of_no_alphabet_are_left_out() -> None:
    """A binary symbol has no text to show."""
    assert decoders.zxing(drawn(b"\xff\xfe\x80\x81" * 4, FORMAT.QRCode)) == []


@pytest.mark.parametrize("decode", [decoders.zxing, decoders.zbar])
def test_boxes_lie_on_the_symbol(decode) -> None:
    """In px of the picture before it was prepared; the symbol begins at (40, 40) and quiet."""
    picture = drawn("LBG000007W", FORMAT.QRCode)
    if decode is decoders.zbar and decoders.zbar_note():
        pytest.skip(decoders.zbar_note())
    [hit] = decode(preparing.doubled(picture.pixels))
    side = 21 * 4

    assert hit.box == pytest.approx((56, 56, side, side), abs=4)


@pytest.mark.parametrize(
    ("content", "format_", "least"),
    [("9521234543213", FORMAT.EAN13, 0.05), ("LBG000007W", FORMAT.Code128, 0.02)],
)
def test_zxing_is_sure_only_of_bars_that_it_saw_long_enough(content, format_, least) -> None:
    """A strip of a code a few lines high is read, and not surely."""
    whole = drawn(content, format_).pixels
    length = whole.shape[1] - 80
    strips = {rows: whole[60 : 60 + rows] for rows in (4, int(length * least * 3))}
    padded = {rows: np.pad(strip, 40, constant_values=255) for rows, strip in strips.items()}
    sure = {rows: decoders.zxing(preparing.raw(pixels)) for rows, pixels in padded.items()}

    assert [[(hit.text, hit.sure) for hit in hits] for hits in sure.values()] == [
        [(content, False)],
        [(content, True)],
    ]


def test_zbar_is_sure_only_where_many_lines_agree() -> None:
    """The same for pyzbar, by its own measure."""
    if decoders.zbar_note():
        pytest.skip(decoders.zbar_note())
    whole = drawn("9521234543213", FORMAT.EAN13).pixels
    strip = np.pad(whole[60:66], 40, constant_values=255)

    assert [hit.sure for hit in decoders.zbar(preparing.raw(strip))] == [False]
    assert [hit.sure for hit in decoders.zbar(preparing.raw(whole))] == [True]


@pytest.mark.parametrize("fault", [ImportError, OSError])
def test_without_libzbar_photos_are_read_by_one_decoder(fault, monkeypatch) -> None:
    """Both errors happen, by how the library is missing; the note says what to install."""
    real = builtins.__import__

    def without(name, *rest):
        if name.startswith("pyzbar"):
            raise fault("Unable to find zbar shared library")
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", without)

    assert decoders.zbar(drawn("LBG000007W", FORMAT.QRCode)) == []
    assert decoders.zbar_note().startswith("pyzbar is left out, photos are read by zxing-cpp alone")
    assert "libzbar0" in decoders.zbar_note()


def test_a_hit_without_area_is_dropped(monkeypatch) -> None:
    """Source: NaturalHistoryMuseum/pyzbar issue 43, a ghost that stands nowhere."""
    from types import SimpleNamespace

    from pyzbar.pyzbar import Decoded, Rect, ZBarSymbol

    ghost = Decoded(b"045398", "I25", Rect(0, 0, 0, 0), [], 1, "UP")
    real = Decoded(b"045398", "I25", Rect(1, 2, 30, 4), [SimpleNamespace(x=1, y=2)], 9, "UP")
    fake = SimpleNamespace(ZBarSymbol=ZBarSymbol, decode=lambda pixels, symbols: [ghost, real])
    monkeypatch.setattr("inventory.pictures.decoders._library", lambda: fake)
    picture = preparing.raw(np.zeros((50, 50), np.uint8))

    assert [hit.box for hit in decoders.zbar(picture)] == [(1, 2, 0, 0)]


@pytest.mark.parametrize("level", "LMQH")
@pytest.mark.parametrize("mask", [0, 5])
def test_a_square_code_is_drawn_anew_module_by_module(level, mask) -> None:
    """In the same size, level and mask as it was read."""
    symbol = zxingcpp.create_barcode(
        "https://x.example/A1B2C3D4",
        zxingcpp.BarcodeFormat.QRCode,
        ec_level=level,
        data_mask=mask,
    )
    flat = np.array(zxingcpp.write_barcode_to_image(symbol, scale=1, add_quiet_zones=False)) == 0
    picture = np.where(np.kron(np.pad(flat, 4), np.ones((4, 4))) > 0, 0, 255).astype(np.uint8)

    anew = decoders.redrawn(preparing.raw(picture))
    assert anew is not None
    assert (anew == flat).all()
    assert decoders.redrawn(preparing.raw(np.hstack([picture, picture]))) is None
    assert decoders.redrawn(preparing.raw(np.full((80, 80), 255, np.uint8))) is None
