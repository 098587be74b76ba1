"""Single codes drawn as a bad photo shows them: small, out of focus, noisy, tilted, in a shadow.

Invented texts, fixed by the seed. Harder than most photographs on purpose: of an easy picture every
chain reads the code, so only hard ones tell what a step is worth.
"""

import random
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
import zxingcpp
from numpy.typing import NDArray

FORMAT = zxingcpp.BarcodeFormat
KINDS: Final = ("EAN13", "UPCA", "Code128", "Code39", "ITF", "QR", "DataMatrix")
LINES: Final = KINDS[:5]
DRAWN: Final = 6  # px of the drawing for the narrowest module
DIGITS = "0123456789"


@dataclass(frozen=True, slots=True)
class Single:
    """A drawn picture and what stands in it."""

    grey: NDArray[np.uint8]
    text: str
    symbology: str


def single(seed: int, kinds: tuple[str, ...] = KINDS) -> Single:
    """The picture of this seed."""
    rng = random.Random(seed)
    kind = rng.choice(kinds)
    text = text_of(kind, rng)
    grey = photographed(drawn(text, kind), rng, kind in LINES)
    return Single(grey, text, kind)


def drawn(text: str, kind: str) -> NDArray[np.uint8]:
    """The code in black on white, quiet zone included."""
    format_ = FORMAT.QRCode if kind == "QR" else getattr(FORMAT, kind)
    symbol = zxingcpp.create_barcode(text, format_)
    return np.array(zxingcpp.write_barcode_to_image(symbol, scale=DRAWN))


def text_of(kind: str, rng: random.Random) -> str:
    """An invented text, with a right check digit where the kind has one."""
    if kind in {"EAN13", "UPCA", "ITF"}:
        return checked(digits({"EAN13": 12, "UPCA": 11, "ITF": 13}[kind], rng))
    if kind == "QR":
        return "https://example.com/" + digits(8, rng)
    return "A" + digits(6, rng) if kind == "Code39" else "SN" + digits(rng.choice((6, 10)), rng)


def digits(number: int, rng: random.Random) -> str:
    """So many random digits."""
    return "".join(rng.choice(DIGITS) for _ in range(number))


def checked(body: str) -> str:
    """The digits with their check digit (GS1 General Specifications, section 7.9)."""
    weighted = (int(d) * (1 if i % 2 else 3) for i, d in enumerate(reversed(body)))
    return body + str(-sum(weighted) % 10)


def near(text: str, symbology: str) -> str:
    """The likeliest other text: its middle character a neighbour, a check digit right again."""
    middle = len(text) // 2
    other = {"0": "8", "1": "7", "8": "3", "3": "8"}.get(text[middle], "0")
    changed = text[:middle] + (other if other != text[middle] else "1") + text[middle + 1 :]
    tested = symbology in {"EAN13", "UPCA", "ITF"} and changed.isdigit()
    return checked(changed[:-1]) if tested else changed


def photographed(
    code: NDArray[np.uint8],
    rng: random.Random,
    lines: bool,
    focus: tuple[float, float] = (0.3, 0.9),
) -> NDArray[np.uint8]:
    """The drawing as a photo. focus: blur in modules, least and most (sigma)."""
    noise = np.random.default_rng(rng.getrandbits(64))
    module = rng.uniform(0.8, 3.5) if lines else rng.uniform(1.4, 4.5)
    scene = _placed(code, module / DRAWN, rng)
    contrast = rng.uniform(0.3, 1)
    light = _light(scene.shape, rng)
    seen = ((127.5 * (1 - contrast) + scene * contrast) * light).clip(0, 255)
    blur = rng.uniform(*focus) * module * (1.0 if lines else 0.75)
    soft = cv2.filter2D(seen, -1, _spread(blur, rng), borderType=cv2.BORDER_REPLICATE)
    grain = noise.normal(0, rng.uniform(2, 12), soft.shape)
    grey = np.clip(soft + grain, 0, 255).astype(np.uint8)
    _, file = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, rng.randint(70, 95)])
    return cv2.imdecode(file, cv2.IMREAD_GRAYSCALE).astype(np.uint8, copy=False)


def _spread(sigma: float, rng: random.Random) -> NDArray[np.float64]:
    """What one point becomes: a soft spot, a lens's circle or a hand's line, equally wide."""
    far = int(4 * sigma) + 2
    x, y = np.meshgrid(np.arange(-far, far + 1), np.arange(-far, far + 1))
    kind = rng.choice(("soft", "lens", "hand"))
    way = rng.uniform(0, np.pi)
    if kind == "soft":
        spread = np.exp(-(x**2 + y**2) / (2 * sigma**2))
    elif kind == "lens":  # a circle of radius r is as wide as a spot of sigma r / 2
        spread = np.clip(2 * sigma + 0.5 - np.hypot(x, y), 0, 1)
    else:  # and a line of length l as one of sigma l / 12 ** 0.5
        along, across = x * np.cos(way) + y * np.sin(way), y * np.cos(way) - x * np.sin(way)
        spread = np.clip(3**0.5 * sigma + 0.5 - abs(along), 0, 1) * np.clip(1 - abs(across), 0, 1)
    return spread / spread.sum()


def _placed(code: NDArray[np.uint8], scale: float, rng: random.Random) -> NDArray[np.float32]:
    """The drawing turned and tilted on a carton, with print of other kinds round it."""
    height, width = code.shape
    side = max(width, height) * scale
    size = (int(side * 1.7 + 60), int(side * 1.4 + 60))
    angle = np.radians(rng.choice((0.0, rng.uniform(-12, 12), rng.uniform(-90, 90))))
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    corners = np.array([[-width, -height], [width, -height], [width, height], [-width, height]])
    slip = [[rng.uniform(-1, 1), rng.uniform(-1, 1)] for _ in range(4)]
    there = (corners / 2 * scale + np.array(slip) * rng.uniform(0, 0.04) * width * scale) @ turn.T
    there += [size[0] / 2 + rng.random(), size[1] / 2 + rng.random()]
    flat = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    tilt = cv2.getPerspectiveTransform(flat, there.astype(np.float32))
    # Shrinking a drawing without averaging would add stripes that no lens makes.
    soft = cv2.GaussianBlur(code, (0, 0), max(0.3, 0.3 / scale))
    paper = cv2.warpPerspective(np.full_like(code, 255), tilt, size)
    scene = np.full((size[1], size[0]), rng.randint(90, 230), np.uint8)
    for _ in range(6):
        place = (rng.randrange(size[0]), rng.randrange(size[1]))
        cv2.putText(scene, digits(6, rng), place, cv2.FONT_HERSHEY_SIMPLEX, 0.5, (20,), 1)
    seen = cv2.warpPerspective(soft, tilt, size, borderValue=(255,))
    return np.where(paper > 127, seen, scene).astype(np.float32)


def _light(shape: tuple[int, ...], rng: random.Random) -> NDArray[np.float32]:
    """A shadow from one side, and at times a lamp's glare."""
    height, width = shape
    x, y = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    way = rng.uniform(0, 2 * np.pi)
    light = 1 - rng.uniform(0, 0.5) * ((x * np.cos(way) + y * np.sin(way)) / 1.42 + 1) / 2
    if rng.random() < 0.3:
        far = (x - rng.uniform(-0.4, 0.4)) ** 2 + (y - rng.uniform(-0.4, 0.4)) ** 2
        light += rng.uniform(0.3, 1.0) * np.exp(-far / (2 * rng.uniform(0.1, 0.4) ** 2))
    return light.astype(np.float32)
