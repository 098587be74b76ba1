"""A square of modules fitted to a picture: corners, blur, light, print, and then every module.

The picture is seen through the guessed corners as FINE x FINE samples of each module, with QUIET
white modules round the square. What the blurred modules, darkened by the print and lit by the
light, leave of it is made least by turns: corners and blur by Gauss and Newton's method, with light
and print between places of a raster (glare raises both in spots of some modules), then the modules
by projected gradient (Source: Beck and Teboulle, SIAM J. Imaging Sciences 2, 2009) and at last by
turning over single ones as long as that leaves less.
"""

from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from inventory.pictures import glare

Floats = NDArray[np.floating[Any]]

FINE: Final = 4  # samples along a module
QUIET: Final = 2  # modules of white round the square that must fit too
NEAR: Final = 7  # modules round which light and dark are looked for at first
STEEP: Final = 2.0  # how much more than likely a likely module is taken to be
PALE: Final = 4.0  # grey levels: the least darkness of print that is reckoned with
ROUNDS: Final = 60  # of the projected gradient
KERNEL: Final = 11  # modules: as far as two modules' blurs can overlap
FARTHEST: Final = 1.5  # px that a corner moves in one step
STEPS: Final = 3  # of the corners to the fixed modules, and of the blur at the end
BLURRED: Final = (0.4, 6.0)  # px^2: what lens and hand can do


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """A fit as far as it has come."""

    corners: Floats  # 4 x 2, px, clockwise from the code's own upper left
    blur: Floats  # px^2: variance to the right, downwards, covariance
    fixed: Floats  # size x size, what the kind of code demands, nan where it demands nothing
    soft: Floats  # modules, 0 light to 1 dark
    hard: Floats  # modules, 0 or 1
    seen: Floats  # samples of the picture, grey levels
    light: Floats  # at each sample, grey levels
    print: Floats  # how much darker dark modules are there
    cost: Floats  # of each module decided: what turning it over would leave more; inf where fixed

    @property
    def likeness(self) -> float:
        """How like its fixed modules the picture is where these lie: 1 for wholly, 0 for not."""
        known = _known(self.fixed)
        dark = np.clip((self.light - self.seen) / self.print, 0, 1)[known]
        drawn = _drawn(self.soft, _kernel(self))[known]
        common = float((dark * drawn).mean() - dark.mean() * drawn.mean())
        return common / max(float(dark.std() * drawn.std()), 1e-6)


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn of the fit: how fine light and print are drawn, and what modules are taken to be."""

    light: int  # places of its raster along a side
    print: int
    stiff: float  # how evenly print must change
    hard: bool = False  # modules as decided; else as likely


EVEN: Final = Turn(3, 3, 1.0)
"""The first: corners only."""


def begun(pixels: Floats, corners: Floats, blur: Floats, fixed: Floats) -> Grid:
    """Corners moved to where the fixed modules are; those that the text decides are half dark."""
    half = np.where(np.isnan(fixed), 0.5, fixed).astype(np.float32)
    grid = _seen(pixels, Grid(corners, blur, fixed, half, half, *(np.zeros((1, 1)),) * 4))
    for _ in range(STEPS):
        grid = _moved(pixels, grid, half, EVEN, with_blur=False)
    return _enveloped(grid)


def fitted(pixels: Floats, grid: Grid, turn: Turn) -> Grid:
    """Corners, light and print fitted to the modules, then the modules to these."""
    taken = _taken(grid, hard=turn.hard)
    for _ in range(2):
        grid = _moved(pixels, grid, taken, turn, with_blur=False)
    return decided(_levelled(grid, taken, turn)[0])


def unglared(pixels: Floats, grid: Grid, *, moving: bool, last: bool) -> Grid:
    """The modules decided again with light and print under one spot of glare.

    moving: corners move to it. last: the spot is fitted to the modules as decided, else to what is
    likely.
    """
    taken = _taken(grid, hard=last)
    grid = _lit(grid, taken)
    if moving:
        grid = _lit(_cornered(pixels, grid, taken), taken)
    return decided(grid)


def _cornered(pixels: Floats, grid: Grid, modules: Floats) -> Grid:
    """One step of Gauss and Newton's for the corners alone."""
    left = _thin(grid.seen - grid.light + grid.print * _drawn(modules, _kernel(grid)))
    columns = _thin(np.stack(_corner_ways(grid, modules), 2))
    squares = columns.T @ columns
    squares += np.diag(1e-3 * np.diag(squares) + 1e-6)
    moved = np.clip(np.linalg.solve(squares, -columns.T @ left), -FARTHEST, FARTHEST)
    return _seen(pixels, replace(grid, corners=grid.corners + moved.reshape(4, 2)))


def _lit(grid: Grid, modules: Floats) -> Grid:
    white, dark = glare.lit(grid.seen, _drawn(modules, _kernel(grid)))
    light, print_ = white.astype(np.float32), (white - dark).astype(np.float32)
    return replace(grid, light=light, print=np.maximum(print_, PALE))


def blurred(pixels: Floats, grid: Grid, turn: Turn) -> Floats:
    """The blur that fits the modules as decided."""
    for _ in range(STEPS):
        grid = _moved(pixels, grid, grid.hard, turn, with_blur=True)
    return grid.blur


def _taken(grid: Grid, *, hard: bool) -> Floats:
    """The modules as decided, or as likely, which what is sure outweighs."""
    return grid.hard if hard else np.clip((grid.soft - 0.5) * STEEP + 0.5, 0, 1)


def _seen(pixels: Floats, grid: Grid) -> Grid:
    """The picture through the corners."""
    size = len(grid.fixed)
    side = (size + 2 * QUIET) * FINE
    begin, end = QUIET * FINE - 0.5, (QUIET + size) * FINE - 0.5
    flat = np.array([[begin, begin], [end, begin], [end, end], [begin, end]], np.float32)
    there = cv2.getPerspectiveTransform(flat, (grid.corners - 0.5).astype(np.float32))
    how = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    seen = cv2.warpPerspective(
        pixels, there, (side, side), flags=how, borderMode=cv2.BORDER_REPLICATE
    )
    return replace(grid, seen=np.asarray(seen, np.float32))


def _enveloped(grid: Grid) -> Grid:
    """Light and print as far as the lightest and darkest round each sample tell."""
    wide = NEAR * FINE | 1
    round_ = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (wide, wide))
    soft = cv2.GaussianBlur(grid.seen, (0, 0), 0.4 * FINE)
    light = cv2.GaussianBlur(cv2.dilate(soft, round_), (0, 0), wide / 2.5)
    dark = cv2.GaussianBlur(cv2.erode(soft, round_), (0, 0), wide / 2.5)
    return replace(
        grid, light=np.asarray(light, np.float32), print=np.maximum(light - dark, 2 * PALE)
    )


def decided(grid: Grid) -> Grid:
    """The modules which, blurred and lit, leave least of the picture; fixed ones stay."""
    kernel, size = _kernel(grid), len(grid.fixed)
    inner = slice(QUIET, QUIET + size)
    pull = _blocks(_soft((grid.light - grid.seen) * grid.print, kernel))[inner, inner]
    # A module pulls as hard as its print is dark: pale print in glare says little.
    weight = np.sqrt(np.maximum(_blocks(grid.print**2)[inner, inner] / FINE**2, 1.0))
    most = float(weight.mean())
    share = (weight / most).astype(np.float32)
    pull = (pull / most**2).astype(np.float32)
    between = _between(kernel)

    def push(modules: Floats) -> Floats:
        spread = cv2.filter2D(share * modules, -1, between, borderType=cv2.BORDER_CONSTANT)
        return np.asarray(share * spread)

    free = np.isnan(grid.fixed)
    least, top = np.where(free, 0, grid.fixed), np.where(free, 1, grid.fixed)
    step = 1 / (float(np.abs(between).sum()) * np.maximum(share**2, 0.05))
    now = ahead = np.where(free, 0.5, grid.fixed).astype(np.float32)
    speed = 1.0
    for _ in range(ROUNDS):
        then = np.clip(ahead - (push(ahead) - pull) * step, least, top).astype(np.float32)
        faster = (1 + (1 + 4 * speed**2) ** 0.5) / 2
        ahead = (then + (speed - 1) / faster * (then - now)).astype(np.float32)
        now, speed = then, faster
    alone = between[KERNEL // 2, KERNEL // 2] * share**2
    hard = (now > 0.5).astype(np.float32)
    for _ in range(size * size):
        cost = np.where(free, 2 * (push(hard) - pull) * (1 - 2 * hard) + alone, np.inf)
        if cost.min() >= -1e-6:
            break
        hard.flat[cost.argmin()] = 1 - hard.flat[cost.argmin()]
    return replace(grid, soft=now, hard=hard, cost=cost)


def _moved(pixels: Floats, grid: Grid, modules: Floats, turn: Turn, *, with_blur: bool) -> Grid:
    """One step of Gauss and Newton's for the corners and, where asked, the blur."""
    grid, left, levels, stiff = _levelled(grid, modules, turn)
    drawn = _drawn(modules, _kernel(grid))
    ways = _corner_ways(grid, modules)
    if with_blur:
        turning = np.linalg.inv(_across(grid))
        bends = [_sobel(drawn, 2, 0), _sobel(drawn, 1, 1), _sobel(drawn, 0, 2)]
        (a, b), (c, d) = turning
        for right, both, down in ((a * a, a * c, c * c), (b * b, b * d, d * d)):
            ways.append(grid.print * _bent(bends, right, both, down))
        ways.append(2 * grid.print * _bent(bends, a * b, (a * d + b * c) / 2, c * d))
    columns = np.concatenate([_thin(np.stack(ways, 2)), -levels], 1)
    squares = columns.T @ columns + np.pad(stiff, (len(ways), 0))
    squares += np.diag(1e-3 * np.diag(squares) + 1e-6)
    better = np.linalg.solve(squares, -columns.T @ left)[: len(ways)]
    corners = grid.corners + np.clip(better[:8], -FARTHEST, FARTHEST).reshape(4, 2)
    blur = grid.blur
    if with_blur:
        right, down, both = blur + np.clip(better[8:], -0.6, 0.6)
        right, down = np.clip((right, down), *BLURRED)
        most = 0.8 * (right * down) ** 0.5
        blur = np.array([right, down, np.clip(both, -most, most)])
    return _seen(pixels, replace(grid, corners=corners, blur=blur))


def _corner_ways(grid: Grid, modules: Floats) -> list[Floats]:
    """What each sample changes by where each corner goes right and down."""
    # px to the right and downwards -> modules along the code's rows and columns
    turning = np.linalg.inv(_across(grid))
    model = grid.light - grid.print * _drawn(modules, _kernel(grid))
    slopes = [_sobel(model, 1, 0) / 8, _sobel(model, 0, 1) / 8]
    return [
        near * (slopes[0] * turning[0, axis] + slopes[1] * turning[1, axis])
        for near in _corner_shares(len(grid.fixed))
        for axis in (0, 1)
    ]


def _bent(bends: list[Floats], right: float, both: float, down: float) -> Floats:
    """How a blurred drawing changes with its blur's variance: by half its bends (heat equation)."""
    return np.asarray((right * bends[0] + 2 * both * bends[1] + down * bends[2]) / 8)


def _levelled(grid: Grid, modules: Floats, turn: Turn) -> tuple[Grid, Floats, Floats, Floats]:
    """Light and print that fit best, what they leave, their columns, and print's stiffness."""
    lights, darks = _hats(len(grid.seen), turn.light), _hats(len(grid.seen), turn.print)
    drawn, seen = _drawn(modules, _kernel(grid)), _thin(grid.seen)
    levels = np.concatenate([_thin(lights), -_thin(darks) * _thin(drawn)[:, None]], 1)
    stiff = np.zeros((levels.shape[1],) * 2)
    places = turn.light**2
    bends = _stiffness(turn.print)
    stiff[places:, places:] = turn.stiff * 0.02 * len(seen) / len(bends) * bends
    squares = levels.T @ levels + stiff
    squares += 1e-5 * np.trace(squares) / len(squares) * np.eye(len(squares))
    heights = np.linalg.solve(squares, levels.T @ seen).astype(np.float32)
    light, print_ = lights @ heights[:places], np.maximum(darks @ heights[places:], PALE)
    left = seen - _thin(light - print_ * drawn)
    return replace(grid, light=light, print=print_), left, levels, stiff


def _kernel(grid: Grid) -> Floats:
    """The blur, drawn at the samples' distance."""
    turning = np.linalg.inv(_across(grid))
    right, down, both = grid.blur
    spread = turning @ np.array([[right, both], [both, down]]) @ turning.T
    return _bell(*np.round((spread[0, 0], spread[1, 1], spread[0, 1]), 2).tolist())


@cache
def _bell(right: float, down: float, both: float) -> Floats:
    """A bell of this covariance in modules."""
    reach = min(int(np.ceil(3 * FINE * max(0.25, max(right, down) ** 0.5))), KERNEL // 2 * FINE)
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1] / FINE
    spread = max(right * down - both**2, 1e-3)
    bell = np.exp(-(down * x * x - 2 * both * x * y + right * y * y) / (2 * spread))
    return np.asarray(bell / bell.sum(), np.float32)


def _across(grid: Grid) -> Floats:
    """px along a row's module and along a column's, in the square's middle; as columns."""
    one, two, three, four = grid.corners
    both = np.stack([two - one + three - four, four - one + three - two], 1)
    return np.asarray(both / (2 * len(grid.fixed)))


def _drawn(modules: Floats, kernel: Floats) -> Floats:
    samples = np.kron(np.pad(modules, QUIET), np.ones((FINE, FINE))).astype(np.float32)
    return _soft(samples, kernel)


def _soft(samples: Floats, kernel: Floats) -> Floats:
    return np.asarray(cv2.filter2D(samples, cv2.CV_32F, kernel, borderType=cv2.BORDER_CONSTANT))


def _between(kernel: Floats) -> Floats:
    """How much the blurs of two modules overlap, by how far they lie apart."""
    one = np.zeros((KERNEL, KERNEL))
    one[KERNEL // 2, KERNEL // 2] = 1
    samples = np.kron(one, np.ones((FINE, FINE))).astype(np.float32)
    return np.asarray(_blocks(_soft(_soft(samples, kernel), kernel)), np.float32)


def _blocks(samples: Floats) -> Floats:
    """The sum of each module's samples."""
    modules = len(samples) // FINE
    return np.asarray(samples.reshape(modules, FINE, modules, FINE).sum((1, 3)))


def _sobel(samples: Floats, right: int, down: int) -> Floats:
    """Changes along modules; to be divided by 8 for slopes and by 4 for bends."""
    raised = FINE ** (right + down)
    return np.asarray(cv2.Sobel(samples, cv2.CV_32F, right, down) * raised)


def _thin(samples: Floats) -> Floats:
    """Every second sample each way, in one row: enough to fit places and levels."""
    return samples[::2, ::2].reshape(-1, *samples.shape[2:])


def _known(fixed: Floats) -> NDArray[np.bool_]:
    """Samples whose module is fixed, and mostly those round it too."""
    known = np.pad(~np.isnan(fixed), QUIET, constant_values=True)
    samples = np.kron(known, np.ones((FINE, FINE))).astype(np.float32)
    bell = _bell(0.25, 0.25, 0.0)
    return cv2.filter2D(samples, -1, bell, borderType=cv2.BORDER_REPLICATE) > 0.7


@cache
def _hats(samples: int, places: int) -> Floats:
    """What each place of a raster over the square bears on each sample."""
    at = np.linspace(0, places - 1, samples)[:, None]
    hats = np.maximum(0, 1 - np.abs(at - np.arange(places)))
    both = np.einsum("ya,xb->yxab", hats, hats)
    return np.asarray(both.reshape(samples, samples, places * places), np.float32)


@cache
def _stiffness(places: int) -> Floats:
    """The sum of squares of bends between three neighbours of a raster, as a matrix."""
    index = np.arange(places * places).reshape(places, places)
    rows = []
    for line in (*index, *index.T):
        for three in zip(line, line[1:], line[2:], strict=False):
            row = np.zeros(places * places)
            row[list(three)] = 1, -2, 1
            rows.append(row)
    bends = np.array(rows)
    return np.asarray(bends.T @ bends)


@cache
def _corner_shares(size: int) -> tuple[Floats, ...]:
    """How far each sample goes along with each corner, clockwise from the upper left."""
    at = ((np.arange((size + 2 * QUIET) * FINE) + 0.5) / FINE - QUIET) / size
    near, far = 1 - at, at
    pairs = ((near, near), (near, far), (far, far), (far, near))
    return tuple(np.outer(down, along).astype(np.float32) for down, along in pairs)
