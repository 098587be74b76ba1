"""A number as a person types it: 1,25 or 1.25 or 1 250. What can be read two ways is a question.

The one place for it. inventory/static/inventory/typed.js reads the same way in the browser; files
that are brought in choose their decimal mark once (inventory/incoming/values.py).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal

from inventory.incoming.errors import TwoWays, Wrong
from inventory.incoming.values import Numbers

FIGURE = re.compile(r"([+-]?[0-9](?:[0-9.,' \u00a0\u202f]*[0-9])?)\s*([a-z]*[23]?)", re.IGNORECASE)
JOINED = re.compile(r"[0-9]+,[0-9]+")  # 25,25: one number or two


def number(text: str) -> Decimal:
    """Return a number. Raises Wrong; TwoWays with both readings where nobody can tell.

    >>> number("1,25"), number("1.25"), number("1 250"), number("1.250,5")
    (Decimal('1.25'), Decimal('1.25'), Decimal('1250'), Decimal('1250.5'))
    >>> number("1.250")
    Traceback (most recent call last):
    ...
    inventory.incoming.errors.TwoWays: expected a number that can be read one way, got '1.250', \
which is 1250 or 1.25: write one of them
    """
    try:
        return Numbers().read(text)
    except TwoWays:
        raise TwoWays(text.strip(), "write one of them") from None


def parts(text: str) -> tuple[str, str]:
    """Return figure and unit, in small letters, of a measure; ("", "") for none.

    >>> parts("4,2 m"), parts("1 250"), parts("30ML"), parts("2 mm2"), parts("ten")
    (('4,2', 'm'), ('1 250', ''), ('30', 'ml'), ('2', 'mm2'), ('', ''))
    """
    found = FIGURE.fullmatch(text.strip())
    return (found[1], found[2].lower()) if found else ("", "")


def base_units(text: str, units: Mapping[str, int]) -> int:
    """Return a quantity in base units. Raises Wrong.

    units: unit in small letters, "" for none -> base units in one.

    >>> base_units("4,2 m", {"mm": 1, "m": 1000}), base_units("12", {"": 1})
    (4200, 12)
    """
    figure, unit = parts(text)
    if unit not in units:
        raise Wrong(f"expected a number and its unit, got {text[:40]!r}")
    found = number(figure) * units[unit]
    if found < 0 or found != found.to_integral_value():
        raise Wrong(f"expected a whole number of the finest unit, got {text[:40]!r}")
    return int(found)


def several(text: str) -> list[Decimal]:
    """Return the numbers of "25; 25,5" or "25, 25". Raises Wrong.

    >>> several("25,5; 25"), several("25, 25")
    ([Decimal('25.5'), Decimal('25')], [Decimal('25'), Decimal('25')])
    """
    if JOINED.fullmatch(text.strip()):
        two = text.strip().replace(",", "; ")
        one = text.strip().replace(",", ".")
        raise Wrong(f"expected numbers between semicolons, got {text[:40]!r}: write {two} or {one}")
    return [number(part) for part in re.split(r";|,\s+", text.strip().rstrip(";,"))]


def doubt(text: str) -> str:
    """Return how a measure can be read two ways, to stand behind a refusal; "" where it cannot.

    >>> doubt("1.250 m"), doubt("1,5"), doubt("ten")
    (', which is 1250 or 1.25', '', '')
    """
    try:
        number(parts(text)[0])
    except TwoWays as two:
        return f", which is {two.ways}"
    except Wrong:
        pass
    return ""
