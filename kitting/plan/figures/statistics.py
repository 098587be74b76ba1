"""How sure a rate is: exact and Wilson limits, Poisson limits and chances.

Source: NIST/SEMATECH e-Handbook 7.2.4 (proportions) and 6.3.3.1 (counts); Garwood 1936 (Poisson).
Show the interval, not the bare rate, for fewer than some 30 cases.
By scipy.special: scipy.stats has the same under friendlier names, and takes a second to load.
"""

import math
from typing import Any, Final

from kitting.plan.figure import Figure
from kitting.plan.inputs import Wrong, number, whole


def clopper_pearson(events: int, cases: int, confidence: float) -> list[float]:
    """Exact limits of a proportion, by beta quantiles.

    >>> [round(limit, 4) for limit in clopper_pearson(4, 20, 0.9)]
    [0.0714, 0.401]
    """
    from scipy.special import betaincinv

    _within(events, cases)
    tail = (1 - confidence) / 2
    low = betaincinv(events, cases - events + 1, tail) if events else 0.0
    high = betaincinv(events + 1, cases - events, 1 - tail) if events < cases else 1.0
    return [float(low), float(high)]


def wilson(events: int, cases: int, confidence: float) -> list[float]:
    """Wilson's limits of a proportion.

    >>> [round(limit, 5) for limit in wilson(4, 20, 0.9)]
    [0.09312, 0.37838]
    """
    _within(events, cases)
    z = quantile(1 - (1 - confidence) / 2)
    rate, over = events / cases, z * z / cases
    middle = rate + over / 2
    half = z * math.sqrt(rate * (1 - rate) / cases + over / cases / 4)
    low = (middle - half) / (1 + over) if events else 0.0
    return [max(0.0, low), min(1.0, (middle + half) / (1 + over))]


def both(events: int, cases: int, confidence: float) -> dict[str, list[float]]:
    """Exact and Wilson limits side by side."""
    return {
        "clopper_pearson": clopper_pearson(events, cases, confidence),
        "wilson": wilson(events, cases, confidence),
    }


def quantile(share: float) -> float:
    """z below which this share of a normal distribution lies."""
    from scipy.special import ndtri

    return float(ndtri(share))


def z_score(events: int, cases: int, expected: float) -> float:
    """How many standard errors a rate is from the expected one.

    >>> round(z_score(26, 200, 0.1), 3)
    1.414
    """
    _within(events, cases)
    return (events / cases - expected) / math.sqrt(expected * (1 - expected) / cases)


def poisson_limits(events: int, confidence: float) -> list[float]:
    """Exact limits of a mean count, by chi-square quantiles.

    >>> [round(limit, 3) for limit in poisson_limits(5, 0.95)]
    [1.623, 11.668]
    """
    from scipy.special import gammaincinv

    # A chi-square of 2 k degrees is twice a gamma of shape k.
    tail = (1 - confidence) / 2
    low = gammaincinv(events, tail) if events else 0.0
    return [float(low), float(gammaincinv(events + 1, 1 - tail))]


def drawn(few: Any, lot: int, bad: int, sample: int) -> Any:
    """Chance of each of these numbers of bad ones in a sample drawn without putting back.

    few: a numpy array of whole numbers; those that cannot be have no chance.
    The hypergeometric distribution of Fisher's test; held against scipy.stats in tests/reference.

    >>> import numpy as np
    >>> [round(float(chance), 4) for chance in drawn(np.arange(4), 10, 2, 3)]
    [0.4667, 0.4667, 0.0667, 0.0]
    """
    import numpy as np

    low, high = max(0, sample - (lot - bad)), min(bad, sample)
    some = np.arange(low, high, dtype=float)
    # Each from the one before: no factorial of a large lot, whose digits would be lost.
    steps = np.log((bad - some) * (sample - some) / ((some + 1) * (lot - bad - sample + some + 1)))
    logs = np.concatenate(([0.0], np.cumsum(steps)))
    chances = np.exp(logs - logs.max())
    chances /= chances.sum()
    can = (few >= low) & (few <= high)
    return np.where(can, chances[np.clip(few - low, 0, high - low)], 0.0)


def none_seen(events: int, cases: int, sure: float) -> dict[str, float]:
    """Greatest mean and rate that go with no event in so many cases, one-sided.

    >>> round(none_seen(0, 300, 0.95)["upper_mean"], 3)
    2.996
    """
    # To three decimals, as the published limits are: 2.996.
    mean = round(-math.log(1 - sure), 3)
    return {"upper_mean": mean, "upper_rate": mean / cases}


def poisson_at_most(mean: float, count: int) -> float:
    """Chance of at most so many events.

    >>> round(poisson_at_most(1.5, 3), 5)
    0.93436
    """
    from scipy.special import pdtr

    return float(pdtr(count, mean))


def count_chart(defects: int, units: int) -> dict[str, float]:
    """Centre and three-sigma limits of a count per unit.

    >>> count_chart(400, 25)
    {'centre': 16.0, 'UCL': 28.0, 'LCL': 4.0}
    """
    centre = defects / units
    reach = 3 * math.sqrt(centre)
    return {"centre": centre, "UCL": centre + reach, "LCL": max(0.0, centre - reach)}


def _within(events: int, cases: int) -> None:
    if events > cases:
        raise Wrong(f"x: expected at most n = {cases}, got {events}")


_NIST: Final = "NIST/SEMATECH e-Handbook 7.2.4"
_ED: Final = "NIST/SEMATECH e-Handbook, 2013"
_SURE: Final = number(0.5, 0.9999)
_RATE: Final[dict[str, Any]] = {
    "x": whole(0, 10_000_000),
    "n": whole(1, 10_000_000),
    "confidence": _SURE,
}

FIGURES: Final = (
    Figure(
        "stat.cp",
        "proportion interval",
        f"{_NIST}, exact (Clopper-Pearson)",
        _ED,
        clopper_pearson,
        _RATE,
    ),
    Figure("stat.wilson", "proportion interval", f"{_NIST}, Wilson", _ED, wilson, _RATE),
    Figure("stat.cpw", "proportion intervals", f"{_NIST}, exact and Wilson", _ED, both, _RATE),
    Figure(
        "stat.z",
        "z",
        _NIST,
        _ED,
        z_score,
        {"x": _RATE["x"], "n": _RATE["n"], "p0": number(0.000001, 0.999999)},
    ),
    Figure(
        "stat.poisson",
        "mean interval",
        "exact Poisson limits, Garwood, Biometrika 28 (1936)",
        "1936",
        poisson_limits,
        {"events": whole(0, 1_000_000), "confidence": _SURE},
    ),
    Figure(
        "stat.poisson",
        "-",
        "no event in n cases: -ln(1 - share), the rule of three",
        "no edition: arithmetic",
        none_seen,
        {"events": whole(0, 0), "n": whole(1), "one_sided": _SURE},
    ),
    Figure(
        "stat.cchart",
        "count",
        "NIST/SEMATECH e-Handbook 6.3.3.1",
        _ED,
        count_chart,
        {"defects": whole(), "units": whole(1)},
    ),
    Figure(
        "stat.pois",
        "probability",
        "Poisson cumulative distribution",
        "no edition: arithmetic",
        poisson_at_most,
        {"mean": number(0, 1_000_000), "at_most": whole()},
    ),
)
