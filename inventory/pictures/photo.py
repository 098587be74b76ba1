"""Which files are taken as photos, and what is kept of them: the pixels, upright, nothing else.

Limits come before decoding, because 49 kB of PNG can hold 20,000 x 20,000 pixels, and pyzbar needs
seconds for a picture one pixel high (both measured, 24 Nov 2026).
"""

import io
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from inventory.pictures.errors import PhotoRefused

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_BYTES = 15_000_000
MOST_PIXELS = 24_000_000
SHORTEST, LONGEST = 32, 10_000  # px, each side
QUALITY = 90  # JPEG quality of what is kept: fine print on a label stays legible

# First bytes -> what to call the file in the answer. Only for words; Pillow decides.
MARKS = (
    (rb"GIF8", "a GIF"),
    (rb"%PDF", "a PDF"),
    (rb"....ftyp(?:heic|heix|mif1|msf1|hevc|avif)", "a HEIC or AVIF picture"),
    (rb"II\*\0|MM\0\*", "a TIFF"),
    (rb"BM", "an uncompressed bitmap"),
    (rb"%!PS|\xc5\xd0\xd3\xc6", "PostScript"),
    (rb"PK\x03\x04", "a ZIP archive"),
    (rb"\s*<(?:\?xml|svg|!DOCTYPE|html)", "a web page or drawing"),
)


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """A picture that was taken in. Raised nowhere else than in `check_file`."""

    image: Image.Image  # upright, mode L or RGB, without any metadata
    width: int  # px, of the upright picture
    height: int  # px

    def grey(self) -> NDArray[np.uint8]:
        """The pixels as 8-bit grey, rows first."""
        return np.asarray(self.image.convert("L"))

    def jpeg(self) -> bytes:
        """What may be stored: a new JPEG file that holds nothing but the pixels."""
        stream = io.BytesIO()
        self.image.save(stream, "JPEG", quality=QUALITY)
        return stream.getvalue()


def check_header(data: bytes) -> Image.Image:
    """The file opened but not decoded (under 0.2 s whatever it holds). Raises PhotoRefused."""
    if not 0 < len(data) <= MOST_BYTES:
        raise PhotoRefused("bytes", f"expected 1 to {MOST_BYTES:,} bytes, got {len(data):,}")
    image = _opened(data)
    _check_sides(*image.size)
    # A phone's JPEG may carry a second view (MPO); only its first picture is ever decoded.
    frames = getattr(image, "n_frames", 1) if image.format != "MPO" else 1
    if frames != 1:
        raise PhotoRefused("frames", f"expected one still picture, got {frames} frames")
    return image


def check_file(data: bytes) -> Photo:
    """The file as a Photo, fully decoded. Raises PhotoRefused."""
    image = check_header(data)
    try:
        image.load()
        upright = ImageOps.exif_transpose(image)
        mode = "L" if upright.mode in {"1", "L", "I;16", "LA"} else "RGB"
        # Saving the opened picture again would keep a JPEG comment (measured); pasting does not.
        clean = Image.new(mode, upright.size, 255 if mode == "L" else (255, 255, 255))
        if upright.has_transparency_data:
            layer = upright.convert("RGBA")
            clean.paste(layer.convert(mode), mask=layer.getchannel("A"))
        else:
            clean.paste(upright.convert(mode))
    except Exception as fault:  # decoders raise many kinds on a broken file
        raise PhotoRefused("damaged", f"expected a whole picture, got {fault}") from fault
    return Photo(clean, *clean.size)


def _opened(data: bytes) -> Image.Image:
    try:
        return Image.open(io.BytesIO(data), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as fault:
        count = re.findall(r"\d+", str(fault))[:1]
        raise _too_many(int("".join(count) or MOST_PIXELS)) from fault
    except Exception as fault:  # a crafted header may raise anything
        raise PhotoRefused(
            "type", f"expected a JPEG, PNG or WebP picture, got {_what(data)}"
        ) from fault


def _check_sides(width: int, height: int) -> None:
    if min(width, height) < SHORTEST or max(width, height) > LONGEST:
        kind = "pixels" if width * height > MOST_PIXELS else "sides"
        raise PhotoRefused(
            kind,
            f"expected sides of {SHORTEST} to {LONGEST:,} pixels, got {width:,} x {height:,}"
            + (": the picture is too large" if max(width, height) > LONGEST else ""),
        )
    if width * height > MOST_PIXELS:
        raise _too_many(width * height)


def _too_many(pixels: int) -> PhotoRefused:
    return PhotoRefused(
        "pixels",
        f"expected at most {MOST_PIXELS:,} pixels, got {pixels:,}: the picture is too large",
    )


def _what(data: bytes) -> str:
    """What the first bytes look like, in words."""
    head = data[:512]
    for mark, words in MARKS:
        if re.match(mark, head, re.DOTALL):
            return words
    if head[:2] == b"\xff\xd8" or head[:8] == b"\x89PNG\r\n\x1a\n" or head[8:12] == b"WEBP":
        return "one with a broken head"
    try:
        head.decode("utf-8")
    except UnicodeDecodeError:
        return "bytes of an unknown kind"
    return "bytes of an unknown kind" if b"\0" in head else "plain text"
