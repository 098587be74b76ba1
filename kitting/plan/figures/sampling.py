"""Acceptance sampling: which plan, and what it lets pass. For bolts, glands and ties; serialised
batteries are all looked at.

Source: ISO 2859-1:1999 tables 1 and 2-A (level II, normal inspection, single sampling): along a
diagonal of letter and AQL the acceptance number is the same, with an arrow up and an arrow down
between 0 and 1. Where the plan asks for the whole lot or more, all is looked at.
"""

from functools import cache
from typing import Any, Final

from kitting.plan import lookup
from kitting.plan.figure import Figure
from kitting.plan.figures.statistics import drawn, poisson_at_most
from kitting.plan.inputs import Wrong, number, one_of, whole

LEVELS: Final = (0.1, 0.15, 0.25, 0.4, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0)
"""AQL, per cent."""
ACCEPTED: Final = (0, None, None, 1, 2, 3, 5, 7, 10, 14, 21)
"""Along the letters from there on; None: the arrows up and down."""


@cache
def letters() -> tuple[tuple[int | None, str, int], ...]:
    """(lot up to, code letter, sample size), rising."""
    return tuple(
        (int(row["upto"]) if row["upto"] else None, row["letter"], int(row["sample"]))
        for row in lookup.table("sampling_letters").rows
    )


def letter_at(lot: int) -> int:
    """Place of a lot's code letter, 0 for A."""
    uptos = [upto for upto, _, _ in letters()]
    return next(at for at, upto in enumerate(uptos) if upto is None or lot <= upto)


def code_letter(lot: int, level: str) -> str:
    """Code letter of a lot at general inspection level II.

    >>> code_letter(50, "II"), code_letter(51, "II")
    ('D', 'E')
    """
    return letters()[letter_at(lot)][1]


def plan(lot: int, aql: float, level: str, inspection: str) -> dict[str, Any]:
    """Sample, acceptance and rejection number; all pieces where the plan reaches the lot.

    >>> plan(10, 0.65, "II", "normal single")["inspect_all"]
    True
    """
    at = letter_at(lot)
    zero = zero_at(aql)
    step = min(max(0, at - zero), len(ACCEPTED) - 1)
    while ACCEPTED[step] is None:
        # The first cell after the zero points up to it, the second down to acceptance number 1.
        step += -1 if step == 1 else 1
    place = zero + step
    if place >= len(letters()):
        raise Wrong(f"aql: expected a plan of the table's letters for a lot of {lot}, got {aql}")
    size, accepted = letters()[place][2], ACCEPTED[step]
    assert accepted is not None
    return {
        "code": letters()[at][1],
        "n": min(size, lot),
        "plan_n": size,
        "Ac": accepted,
        "Re": accepted + 1,
        "inspect_all": size >= lot,
    }


def zero_at(aql: float) -> int:
    """Place of the letter whose plan accepts 0 at this AQL: F (20 pieces) at 0.65, one letter
    earlier for each step up the series.

    >>> letters()[zero_at(0.65)][2], letters()[zero_at(2.5)][2]
    (20, 5)
    """
    return max(0, LEVELS.index(0.65) + 5 - LEVELS.index(aql))


def binomial(sample: int, accepted: int, rate: float) -> float:
    """Chance that a lot with this rate passes.

    >>> round(binomial(80, 1, 0.0065), 5)
    0.90416
    """
    from scipy.special import bdtr

    _sample(accepted, sample)
    return float(bdtr(accepted, sample, rate))


def risk(sample: int, accepted: int, rate: float) -> float:
    """Chance that a lot with this rate is refused: the producer's risk."""
    return 1 - binomial(sample, accepted, rate)


def hypergeometric(lot: int, bad: int, sample: int, accepted: int) -> float:
    """Chance that a lot with so many bad pieces passes, exact for a small lot.

    >>> round(hypergeometric(50, 2, 13, 0), 6)
    0.543673
    """
    import numpy as np

    if bad > lot or sample > lot:
        raise Wrong(f"lot: expected at least the bad and the sampled pieces, got {lot}")
    return min(float(drawn(np.arange(min(accepted, sample) + 1), lot, bad, sample).sum()), 1.0)


def _sample(accepted: int, sample: int) -> None:
    if accepted > sample:
        raise Wrong(f"c: expected at most n = {sample}, got {accepted}")


_ISO: Final = "ISO 2859-1:1999 tables 1 and 2-A, level II"
_ED: Final = "ISO 2859-1:1999"
_SHARE: Final = number(0, 1)
_OC: Final = {"n": whole(1, 1_000_000), "c": whole(0, 1_000_000), "p": _SHARE}
_CURVE: Final = "binomial operating characteristic (NIST/SEMATECH e-Handbook 6.2.3.2)"
_LOT: Final = {"lot": whole(2, 10_000_000)}
_LEVEL: Final = one_of(("II",))

FIGURES: Final = (
    Figure("samp.code", "code letter", _ISO, _ED, code_letter, {**_LOT, "level": _LEVEL}),
    Figure(
        "samp.plan",
        "pieces",
        f"{_ISO}, arrows followed",
        _ED,
        plan,
        {
            **_LOT,
            "aql": one_of(LEVELS),
            "level": _LEVEL,
            "inspection": one_of(("normal single",)),
        },
    ),
    Figure("samp.pa", "probability", _CURVE, _ED, binomial, _OC),
    Figure("samp.nist", "probability", _CURVE, _ED, binomial, _OC),
    Figure(
        "samp.birolini",
        "producer risk",
        "1 - binomial chance; Birolini, Reliability Engineering (2007) figure 7.4",
        "2007",
        risk,
        _OC,
    ),
    Figure(
        "samp.birolini",
        "acceptance at LTPD",
        "Poisson chance; Birolini, Reliability Engineering (2007) section 7.1",
        "2007",
        poisson_at_most,
        {"lambda_np": number(0, 10_000), "c": whole(0, 1_000_000)},
    ),
    Figure(
        "samp.hyper",
        "probability of acceptance",
        "hypergeometric sum C(D,k) C(N-D,n-k) / C(N,n)",
        "no edition: arithmetic",
        hypergeometric,
        {
            "lot": whole(1, 1_000_000),
            "defective": whole(0, 1_000_000),
            "sample": whole(1, 1_000_000),
            "c": whole(0, 1_000_000),
        },
    ),
)
