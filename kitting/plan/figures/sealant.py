"""Sealant: ml per metre of bead, whole cartridges, feet per cartridge; as the kit counts it.

Source: geometry (ml per metre = section in mm2); contents of packs as printed by the trade.
"""

from functools import cache
from typing import Final

from kitting.plan import lookup
from kitting.plan.counting.volume import Bead, cartridges, microlitres
from kitting.plan.figure import Figure, listed
from kitting.plan.inputs import number, one_of, or_null

SHAPES: Final = {"rect": "rectangle", "tri": "triangle", "half": "half round", "round": "round"}
MM_PER_M: Final = 1000


def section(shape: str, width: float, depth: float | None) -> float:
    """ml per metre. width and depth mm; no depth for half and round.

    >>> section("tri", 10, 5)
    25.0
    """
    return Bead(SHAPES[shape], width, depth or 0).section()


def job(
    shape: str, width: float, depth: float | None, length: float, pack: float, waste: float
) -> dict[str, float]:
    """ml and whole cartridges of a job. length m, pack ml, waste as a share (0.15).

    >>> job("round", 6, None, 4, 310, 0.15)["cartridges"]
    1
    """
    bead = Bead(SHAPES[shape], width, depth or 0)
    amount = microlitres(bead, length * MM_PER_M, round(100 * waste, 6))
    return {"ml": amount / 1000, "cartridges": cartridges(amount, round(pack * 1000))}


def feet(width: float, depth: float, pack: str) -> float:
    """ft of a rectangular bead per pack, without waste. width and depth inch.

    >>> round(feet(0.25, 0.25, "10.1 floz"), 1)
    24.4
    """
    return contents()[pack] / (width * depth * 12)


@cache
def contents() -> dict[str, float]:
    """Pack -> cubic inch as printed."""
    return {row["pack"]: float(row["in3"]) for row in lookup.table("sealant_packs").rows}


_GEOMETRY: Final = "1 mm2 of bead is 1 ml per metre"
_ED: Final = "geometry, no edition"
_BEAD: Final = {
    "shape": one_of(SHAPES),
    "w_mm": number(0, 200, above=True),
    "d_mm": or_null(number(0, 200, above=True)),
}
_PACK: Final = one_of(("10.1 floz", "20 floz", "27 floz", "30 floz"))
_INCH: Final = number(0, 8, above=True)

FIGURES: Final = (
    Figure("seal.area", "ml/m", _GEOMETRY, _ED, section, _BEAD),
    Figure(
        "seal.cart",
        "ml, packs",
        _GEOMETRY,
        _ED,
        job,
        {
            **_BEAD,
            "length_m": number(0, 10_000),
            "pack_ml": number(0, 5000, above=True),
            "waste": number(0, 1),
        },
    ),
    Figure(
        "seal.ft",
        "ft per cartridge",
        "contents / (width x depth x 12)",
        "contents as the trade prints them",
        feet,
        {"w_in": _INCH, "d_in": _INCH, "pack": _PACK},
    ),
    Figure(
        "seal.vol",
        "in3",
        "contents as a supply page prints them",
        "no edition: trade practice",
        lambda pack: contents()[pack],
        {"pack": _PACK},
    ),
    *listed("sealant_habits"),
)
