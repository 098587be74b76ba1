"""Files that want to hurt the reader, each built when needed (no binary is kept in the project).

Rows 1 to 9 of the project's list of hostile inputs; the comment names the row.
"""

import io
import random
import struct
import zlib
from collections.abc import Iterator

import numpy as np
import zxingcpp
from PIL import Image


def flat_png(width: int, height: int) -> bytes:
    """A black 1-bit PNG of any size, written row by row. Rows 1 to 3."""
    row = b"\0" * (1 + (width + 7) // 8)
    packer = zlib.compressobj(9)
    many = max(1, min(height, 2_000_000 // len(row)))
    whole, rest = divmod(height, many)
    body = b"".join(packer.compress(row * many) for _ in range(whole))
    body += packer.compress(row * rest) + packer.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def chunk(kind: bytes, body: bytes) -> bytes:
    """One chunk of a PNG file."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def wide_webp() -> bytes:
    """25 million px in a few bytes of WebP: the same wish in another format."""
    return saved(Image.new("RGB", (5_040, 5_000)), "WEBP", lossless=True, method=0, quality=0)


def saved(image: Image.Image, format_: str, **options: object) -> bytes:
    """The picture as a file of the format."""
    stream = io.BytesIO()
    image.save(stream, format_, **options)
    return stream.getvalue()


def code_image(text: str = "LBG000007W", scale: int = 6) -> Image.Image:
    """An RGB picture with one Data Matrix."""
    symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, force_square=True)
    grey = Image.fromarray(np.array(zxingcpp.write_barcode_to_image(symbol, scale=scale)))
    return grey.convert("RGB")


def qr_image(text: str) -> Image.Image:
    """An RGB picture with one QR Code. Rows 11 and 12."""
    symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode)
    grey = Image.fromarray(np.array(zxingcpp.write_barcode_to_image(symbol, scale=6)))
    return grey.convert("RGB")


def script_behind_jpeg() -> bytes:
    """A JPEG that goes on as a web page. Row 5."""
    return saved(code_image(), "JPEG") + b"<script>alert(1)</script>"


MARKS = (b"secret", b"GPSLatitude", b"XMP-MARK", b"Exif", b"THUMBNAIL-MARK")


def talkative_jpeg() -> bytes:
    """Lies on its side (EXIF 6), with place, XMP, comment and thumbnail. Row 6."""
    image = code_image(scale=8)
    canvas = Image.new("RGB", (400, 300), "white")
    canvas.paste(image, (10, 20))
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010E] = "THUMBNAIL-MARK"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[0x001D] = "2026:11:25"
    return saved(
        canvas.transpose(Image.Transpose.ROTATE_90),
        "JPEG",
        quality=95,
        exif=exif,
        comment=b"secret",
        xmp=b"<x:xmpmeta><GPSLatitude>XMP-MARK</GPSLatitude></x:xmpmeta>",
    )


def moving_png(frames: int = 50) -> bytes:
    """An animated PNG. Row 7."""
    first, *others = (Image.new("L", (64, 48), n % 255) for n in range(frames))
    return saved(first, "PNG", save_all=True, append_images=others)


def foreign_files() -> Iterator[tuple[str, bytes]]:
    """(what it is, bytes) of files that are no photo at all. Row 7 and plain text."""
    yield "a GIF", saved(Image.new("L", (64, 64)), "GIF")
    yield "PostScript", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 64 64\n"
    yield "a web page or drawing", b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>'
    yield "a TIFF", saved(Image.new("L", (64, 64)), "TIFF")
    yield "an uncompressed bitmap", saved(Image.new("L", (64, 64)), "BMP")
    yield "a HEIC or AVIF picture", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 64
    yield "a PDF", b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
    yield "a ZIP archive", b"PK\x03\x04" + b"\0" * 60
    yield "plain text", b"I am not a photo, whatever my name says."
    yield "bytes of an unknown kind", bytes(range(1, 200)) + b"\xff\xfe\0"
    yield "one with a broken head", b"\xff\xd8\xff\xe0" + b"\0" * 20


def module_noise(seed: int) -> bytes:
    """Random dark and light squares: the kind that ended OpenCV's curved QR reader. Row 9."""
    rng = random.Random(seed)
    side = rng.randint(10, 60)
    cells = bytes(rng.choice((0, 255)) for _ in range(side * side))
    small = Image.frombytes("L", (side, side), cells)
    return saved(small.resize((side * 4, side * 4), Image.Resampling.NEAREST), "PNG")


def random_file(seed: int) -> bytes:
    """Random squares, or a good picture flipped here and there, cut, doubled or grown. Row 9."""
    rng = random.Random(seed)
    if seed % 3 == 0:
        return module_noise(seed)
    format_ = ("JPEG", "PNG", "WEBP")[seed // 3 % 3]
    data = bytearray(saved(code_image(scale=rng.randint(3, 12)), format_))
    how = rng.randrange(5)
    if how == 0:
        del data[rng.randrange(len(data)) :]
    elif how == 1:
        data[rng.randrange(len(data)) : 0] = rng.randbytes(rng.randint(1, 400))
    elif how == 2:
        data += data[rng.randrange(len(data)) :]
    else:
        for _ in range(rng.randint(1, 40)):
            data[rng.randrange(0 if how == 3 else 40, len(data))] = rng.randrange(256)
    return bytes(data)
