"""Taking blur back from one small place of a picture, so that its code can be read.

A lens, a hand and a sensor soften a picture in a way that is known but for its strength; dividing
it out again where the noise allows (Wiener's filter) brings back bars and squares that were below
what any decoder reads: of 60 labels under hard blur the plain picture gives none. Print is dark or
light and nothing beyond: holding it so while the blur is taken back brings out squares that
division alone leaves in the noise. Too much of it makes edges that were never there, so a text read
this way counts as one sighting only: see inventory.pictures.wall.
"""

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures import preparing
from inventory.pictures.preparing import Grey, Prepared

MIDDLE: Final = 5  # the outer fifth of a place is ground: its edges say nothing of the bars
LINED: Final = 0.35  # of the edges run one way: it is a line code (0.6 to 0.95; squares under 0.3)
STRIPED: Final = 0.15  # of the edges: it can be one in glare
ALONG: Final = 10  # the tenth of a place's height over which a line code's bars are averaged
MOST: Final = 1_200  # px, the longer side of what is handed to a decoder: larger needs no enlarging
FAINT: Final = 12.0
"""Grey levels between dark and light below which a part is plain ground and stays so."""


FINER: Final = 2  # times enlarged before print is held: edges lie between px
NEAR: Final = 24  # px of the place round which dark and light are looked for: some eight modules
HELD_PIXELS: Final = 40_000
"""Of a place: holding the print of a larger one takes long, and its modules need it less."""
PIXELS: Final = 1_500_000
"""Of a place: a larger label has bars so wide that fewer px are enough."""


@dataclass(frozen=True, slots=True)
class Way:
    """One strength of taking blur back."""

    name: str
    blur: float  # px, sigma of the blur that is taken back
    noise: float  # power of the noise against the print's; more takes less back
    times: int  # how many times enlarged
    parts: int = 0  # light evened out over this part of the place's longer side; 0 for not
    soft: float = 0.0  # px of the enlarged place, sigma of the noise taken off at the end
    rounds: int = 0  # of holding the print between its dark and its light; 0: divided out once
    moved: float = 0.0  # px, how far a hand moved meanwhile
    aslant: float = 0.0  # degrees from the right, downwards, the way it moved


# Chosen over walls of seeds 1 and 2 (26 Nov 2026): each reads labels that those before it did not.
LINES: Final = (
    Way("mild", 0.8, 0.03, 2),
    Way("plain", 1.6, 0.01, 2),
    Way("fine", 1.6, 0.003, 3),
    Way("strong", 2.0, 0.003, 2),
    Way("strong soft", 2.0, 0.003, 2, soft=1.2),
    Way("strong even", 2.0, 0.003, 2, 20, 1.2),
    Way("even", 1.6, 0.01, 2, 20),
    Way("evener", 1.6, 0.03, 2, 5),
    Way("utmost", 2.0, 0.001, 3),
)
# Chosen over what the other ways left of walls of seeds 21, 22, 31 and 32 (27 Nov 2026).
HELD: Final = (
    Way("held", 1.9, 0.03, 1, rounds=25),
    Way("held down", 1.6, 0.03, 1, rounds=25, moved=4.0, aslant=90),
    Way("held falling", 1.6, 0.03, 1, rounds=25, moved=4.0, aslant=45),
    Way("held rising", 1.6, 0.03, 1, rounds=25, moved=4.0, aslant=135),
    Way("held across", 1.6, 0.03, 1, rounds=25, moved=4.0),
)
SQUARES: Final = (
    Way("plain", 1.6, 0.03, 3),
    Way("plain small", 1.6, 0.03, 2),
    Way("even soft", 1.6, 0.01, 2, 12, 1.2),
    HELD[0],
    Way("strong even", 2.0, 0.01, 3, 20),
    Way("wary even", 1.6, 0.1, 3, 8, 1.2),
    Way("soft", 1.6, 0.03, 2, soft=1.2),
    *HELD[1:],
    Way("strong evener", 2.0, 0.01, 2, 5),
    Way("even", 1.6, 0.03, 2, 12),
    Way("mild", 0.8, 0.03, 2),
)


@dataclass(frozen=True, slots=True, eq=False)
class Close:
    """A place cut out, turned so that bars stand upright, and its spectrum."""

    pixels: Grey
    spectrum: NDArray[np.complex128]
    back: NDArray[np.float64]  # 2 x 3, px of this cut -> px of the place
    alike: float  # share of its edges that run one way, 0 to 1
    turn: float  # degrees by which these are turned upright

    @property
    def lined(self) -> bool:
        """It is a line code."""
        return self.alike > LINED

    @property
    def striped(self) -> bool:
        """It can be a line code, if a faint one."""
        return self.alike > STRIPED


def closer(place: Grey) -> Close:
    """Turn a place upright where it holds bars, and average along them: they are long."""
    alike, turn = _bars(place)
    lined = alike > LINED
    upright = preparing.turned(place, turn) if lined else preparing.raw(place)
    smaller = preparing.shrunk(upright.pixels, PIXELS)
    pixels, back = smaller.pixels, upright.back.copy()
    back[:, :2] *= smaller.back[0, 0]
    if lined:
        along = max(3, round(place.shape[0] / float(smaller.back[0, 0]) / ALONG))
        pixels = _grey(cv2.blur(pixels, (1, along)))
    height, width = (cv2.getOptimalDFTSize(side) for side in pixels.shape)
    more = (0, height - pixels.shape[0], 0, width - pixels.shape[1])
    pixels = _grey(cv2.copyMakeBorder(pixels, *more, cv2.BORDER_REPLICATE))
    return Close(pixels, np.fft.rfft2(pixels.astype(np.float64)), back, alike, turn)


def restored(close: Close, way: Way) -> Prepared:
    """The place with so much blur taken back, enlarged."""
    shape = close.pixels.shape
    sharp: NDArray[np.floating]
    if way.rounds and close.pixels.size <= HELD_PIXELS:
        sharp = _held(close, way)
    else:
        blur = _blur(shape, way, along_bars=close.lined)
        sharp = np.fft.irfft2(close.spectrum * blur / (blur**2 + way.noise), s=shape)
    times = min(way.times, max(1, MOST // max(sharp.shape)))
    grey = np.clip(sharp, 0, 255).astype(np.uint8)
    large = _grey(cv2.resize(grey, None, fx=times, fy=times, interpolation=cv2.INTER_CUBIC))
    if way.soft:
        large = _grey(cv2.GaussianBlur(large, (0, 0), way.soft))
    if way.parts:
        large = _evened(large, way.parts, close.lined)
    back = close.back.copy()
    back[:, :2] *= shape[1] / large.shape[1]
    return Prepared(large, back)


def _blur(
    shape: tuple[int, ...], way: Way, finer: int = 1, *, along_bars: bool = False
) -> NDArray[np.float64]:
    """What lens and hand leave of each frequency of a picture `finer` times enlarged, 0 to 1."""
    across = np.fft.rfftfreq(shape[1])[None, :] * finer
    down = np.zeros((1, 1)) if along_bars else np.fft.fftfreq(shape[0])[:, None] * finer
    lens = np.exp(-2 * np.pi**2 * way.blur**2 * (across**2 + down**2))
    if not way.moved:
        return np.asarray(lens)
    turn = np.radians(way.aslant)
    return np.asarray(lens * np.sinc(way.moved * (across * np.cos(turn) + down * np.sin(turn))))


def _held(close: Close, way: Way) -> NDArray[np.float32]:
    """The print which, blurred, comes nearest to the place and stays between its dark and light.

    Projected gradient with momentum (Source: Beck and Teboulle, SIAM J. Imaging Sciences 2, 2009).
    """
    large = cv2.resize(
        close.pixels.astype(np.float32), None, fx=FINER, fy=FINER, interpolation=cv2.INTER_CUBIC
    )
    blur = _blur(large.shape, way, FINER).astype(np.float32)
    wanted, twice = np.fft.rfft2(large) * blur, blur**2
    first = np.fft.irfft2(wanted / (twice + way.noise), s=large.shape).astype(np.float32)
    dark, light = _ends(first)
    now = ahead = np.clip(first, dark, light)
    speed = 1.0
    for _ in range(way.rounds):
        off = np.fft.irfft2(wanted - twice * np.fft.rfft2(ahead), s=large.shape)
        then = np.clip(ahead + off, dark, light).astype(np.float32)
        faster = (1 + (1 + 4 * speed**2) ** 0.5) / 2
        ahead = then + np.float32((speed - 1) / faster) * (then - now)
        now, speed = then, faster
    return np.asarray((now - dark) / np.maximum(light - dark, FAINT) * 255, np.float32)


def _ends(pixels: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """What is dark and what is light round each pixel: glare and shadow change both slowly."""
    round_ = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (NEAR * FINER + 1,) * 2)
    soft = cv2.GaussianBlur(pixels, (0, 0), 1.5 * FINER)
    slow = NEAR / 3 * FINER
    dark = cv2.GaussianBlur(cv2.erode(soft, round_), (0, 0), slow)
    light = cv2.GaussianBlur(cv2.dilate(soft, round_), (0, 0), slow)
    return np.asarray(dark, np.float32), np.asarray(light, np.float32)


def _evened(pixels: Grey, parts: int, lined: bool) -> Grey:
    """Dark as black and light as white within each part: glare leaves print that is pale grey."""
    wide = max(5, round(max(pixels.shape) / parts)) | 1
    window = (wide, 1 if lined else wide)
    shape = cv2.getStructuringElement(cv2.MORPH_RECT, window)
    light = cv2.blur(cv2.dilate(pixels, shape).astype(np.float32), window)
    dark = cv2.blur(cv2.erode(pixels, shape).astype(np.float32), window)
    share = (pixels - dark) / np.maximum(light - dark, FAINT)
    return _grey(np.clip(share * 255, 0, 255))


def _grey(pixels: cv2.typing.MatLike) -> Grey:
    return pixels.astype(np.uint8, copy=False)


def _bars(place: Grey) -> tuple[float, float]:
    """The share of edges that run one way, and the degrees by which to turn them upright."""
    height, width = place.shape
    inner = place[height // MIDDLE : -(height // MIDDLE) or None]
    inner = inner[:, width // MIDDLE : -(width // MIDDLE) or None]
    soft = cv2.GaussianBlur(inner, (0, 0), 1.0).astype(np.float32)
    right, down = cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)
    one, other, both = (right**2).sum(), (down**2).sum(), (right * down).sum()
    # Source: the structure tensor's eigenvalues; 1 where all edges run one way, 0 where none does.
    share = float(np.hypot(one - other, 2 * both) / (one + other + 1e-6))
    return share, float(np.degrees(np.arctan2(2 * both, one - other)) / 2)
