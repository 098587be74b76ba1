"""Every key under which a phone may meet one code: the spellings of what a label says.

The phone does not parse. It reduces a text to its look-up key, so a server that knows the thing
writes down beforehand each key that any spelling of its codes comes to: with or without separators
(control characters leave a key), with brackets, as a web address, dates and batch before or after
the serial.

Source of the identifiers: GS1 General Specifications (01 article, 10 batch, 11 made on, 21 serial);
GS1 Digital Link URI syntax 1.2 (/01/, /10/, /21/); bracket form: human readable interpretation.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from datetime import date
from itertools import permutations
from urllib.parse import quote

from inventory.codes.cleaning import TOKENS
from inventory.codes.errors import CodeError
from inventory.codes.serials import key, look_up_key

RESOLVERS = ("https://id.gs1.org",)
SERIAL = "\x00"  # where the serial stands in a learnt pattern: no key holds a control character


def of_unit(
    serial: str,
    articles: Iterable[str] = (),
    batch: str = "",
    made_on: date | None = None,
    learnt: Iterable[str] = (),
) -> set[str]:
    """Return the keys of one serial: plain, and with each article number (14 digits).

    learnt: patterns of other labels of the same item, as `pattern` gives them.
    """
    found = set(of_text(serial))
    for article in articles:
        found |= _with_article(article, serial, batch, made_on)
    found |= {one.replace(SERIAL, serial) for one in learnt}
    return found - {""}


def of_text(text: str) -> set[str]:
    """Return the keys of a plain code: as printed, and in its normal form."""
    found = {look_up_key(text)}
    with suppress(CodeError):
        found.add(key(text))
    return found - {""}


def of_article(article: str) -> set[str]:
    """Return the keys of an article number: digits alone, as element string, as web address."""
    short = look_up_key(article)
    if not (short.isdigit() and len(short) == 14):  # a GTIN-14
        return of_text(article)
    links = {f"{host}/01/{short}" for host in RESOLVERS}
    return {short, f"01{short}", f"(01){short}"} | links


def pattern(text: str, serial: str) -> str:
    """Return what a scanned label looks like with another serial, "" where it cannot be told."""
    short = look_up_key(text)
    return short.replace(serial, SERIAL) if serial and short.count(serial) == 1 else ""


def _with_article(article: str, serial: str, batch: str, made_on: date | None) -> set[str]:
    parts = [("21", serial)]
    if batch:
        parts.append(("10", batch))
    if made_on is not None:
        parts.append(("11", made_on.strftime("%y%m%d")))
    found = set()
    for count in range(1, len(parts) + 1):
        for row in permutations(parts, count):
            if ("21", serial) in row:
                found |= _element_strings([("01", article), *row])
    for host in RESOLVERS:
        link = f"{host}/01/{article}"
        ends = f"/21/{quote(serial, safe='')}"
        found |= {link + ends, *([f"{link}/10/{quote(batch, safe='')}{ends}"] if batch else [])}
    return found


def _element_strings(row: list[tuple[str, str]]) -> set[str]:
    """Without separators, in brackets, and with separators that were typed out as words."""
    found = {"".join(ai + value for ai, value in row), "".join(f"({ai}){v}" for ai, v in row)}
    if any(ai in ("10", "21") for ai, _ in row[:-1]):
        ends = [value + "\x1d" * (ai in ("10", "21")) for ai, value in row[:-1]] + [row[-1][1]]
        text = "".join(ai + end for (ai, _), end in zip(row, ends, strict=True))
        found |= {text.replace("\x1d", token) for token in TOKENS}
    return found
