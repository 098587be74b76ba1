"""Light and print under one glaring spot, fitted to a code whose modules or bars are known about.

A glossy label throws the lamp back in a spot that adds as much light to dark as to white, up to
what the sensor can tell. So the few figures of the spot say everywhere how light and how dark the
print is, where a raster of levels would take pale modules for white ones. The figures by
Levenberg's method (Source: K. Levenberg, Quarterly of Applied Mathematics 2, 1944).
"""

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]

# In shares of the picture's width, 0 in its middle.
PLACES: Final = np.linspace(-0.45, 0.45, 7)  # where the spot's middle is looked for at first
WIDTHS: Final = (0.08, 0.15, 0.25)  # and how wide, sigma
NARROWEST, WIDEST = 0.04, 0.6
FEW: Final = 16  # rows; of more every second one is enough
STEPS: Final = np.array([1, 1, 1, 1, 0.01, 0.01, 0.01, 0.01, 0.01])
ROUNDS: Final = 25
ENOUGH: Final = 1e-4  # of what is left: less gained ends it


def lit(seen: Floats, drawn: Floats, tall: float = 1.0) -> tuple[Floats, Floats]:
    """Grey levels of white and of dark at each sample of a picture.

    seen: grey levels; drawn: how dark, 0 to 1; tall: its height in shares of its width.
    """
    down, along = ((np.arange(side) + 0.5) / side - 0.5 for side in seen.shape)
    x, y = np.meshgrid(along, down * tall)
    few = np.s_[:: 2 if len(seen) > FEW else 1, ::2]
    seen, drawn, near_x, near_y = (each[few].ravel() for each in (seen, drawn, x, y))
    return _levels(_fit(seen, drawn, near_x, near_y, tall), x, y)


def _levels(figures: Floats, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """figures: white, dark, most that is told, the spot's strength, place, width; light's slope."""
    white, dark, most, strength, right, down, wide, along, across = figures
    light = 1 + along * x + across * y
    spot = strength * np.exp(-((x - right) ** 2 + (y - down) ** 2) / (2 * wide**2))
    return light * np.minimum(most, white + spot), light * np.minimum(most, dark + spot)


def _fit(seen: Floats, drawn: Floats, x: Floats, y: Floats, tall: float) -> Floats:
    def left(figures: Floats) -> Floats:
        white, dark = _levels(figures, x, y)
        return np.asarray(white - (white - dark) * drawn - seen)

    figures = _guess(seen, drawn, x, y, tall)
    rest, damping = left(figures), 1e-2
    for _ in range(ROUNDS):
        slopes = np.stack([left(figures + step) - rest for step in np.diag(STEPS)], 1) / STEPS
        squares = slopes.T @ slopes
        damped = squares + damping * np.diag(np.diag(squares) + 1e-6)
        better = figures + np.linalg.solve(damped, -slopes.T @ rest)
        better[6] = np.clip(better[6], NARROWEST, WIDEST)
        better[2] = max(better[2], better[0])
        then = left(better)
        gain = 1 - float(then @ then) / max(float(rest @ rest), 1e-9)
        if gain < 0:
            damping *= 5
            continue
        figures, rest, damping = better, then, damping * 0.3
        if gain < ENOUGH:
            break
    return figures


def _guess(seen: Floats, drawn: Floats, x: Floats, y: Floats, tall: float) -> Floats:
    """Of a raster of spots the one that explains most, were white not glared on."""
    best, least = np.zeros(0), np.inf
    for wide in WIDTHS:
        for right in PLACES:
            for down in PLACES * tall:
                spot = np.exp(-((x - right) ** 2 + (y - down) ** 2) / (2 * wide**2))
                ways = np.stack([np.ones_like(x), -drawn, spot * drawn, x, y], 1)
                squares = ways.T @ ways + 1e-3 * np.eye(5)
                white, print_, strength, along, across = np.linalg.solve(squares, ways.T @ seen)
                rest = ways @ (white, print_, strength, along, across) - seen
                if strength >= 0 and rest @ rest < least:
                    least = float(rest @ rest)
                    slope = (along / white, across / white)
                    place = (max(strength, 1.0), right, down, wide, *slope)
                    best = np.array([white, white - print_, 1.05 * white, *place])
    if len(best):
        return best
    white = float(np.percentile(seen, 95))
    return np.array([white, float(np.percentile(seen, 5)), 1.05 * white, 1, 0, 0, 0.2, 0, 0])
