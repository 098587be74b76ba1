"""What two well-known libraries make of a GS1 element string, beside what we make of it.

biip 5.2.0 (Apache-2.0) and python-stdnum 2.2 (LGPL) are used by tests only.
"""

import datetime as dt
import random
import re
from dataclasses import dataclass, field
from decimal import Decimal

import biip
from stdnum import ean, gs1_128
from stdnum.exceptions import ValidationError

from inventory.codes.characters import GS
from inventory.codes.reading import read

YEAR = dt.datetime.now(tz=dt.UTC).year
READS, OTHER, REFUSES = "reads", "reads other", "refuses"
NAMED = re.compile(r"\(([0-9]{2,4})\)")


@dataclass(frozen=True)
class Ours:
    """What we make of a text."""

    elements: tuple = ()
    fields: dict = field(default_factory=dict)
    kind: str = ""  # of the refusal, empty where it is read
    identifier: str = ""  # the first one that the refusal names


def ours(text):
    """Our reading of a text that came whole out of a symbol; `]C1` marks element strings."""
    answer = read(text, "symbol", context={"year": YEAR})
    if answer.refused:
        named = NAMED.search(answer.refused.message)
        return Ours(kind=answer.refused.kind, identifier=named[1] if named else "")
    return Ours(answer.readings[0].elements, answer.readings[0].fields)


def opinion(mine, theirs):
    """One of READS, OTHER, REFUSES: how `theirs` (None: refused) stands to what we read."""
    if theirs is None:
        return REFUSES
    return READS if mine.kind or theirs == mine.elements else OTHER


def of_biip(text):
    """The pairs that biip reads, raw, or None; element strings marked `]C1` and Digital Links."""
    parsed = biip.parse(text)
    found = parsed.gs1_message or parsed.gs1_digital_link_uri
    return tuple((e.ai.ai, e.value) for e in found.element_strings) if found else None


def dates_of_biip(text):
    """The plain dates that biip reads, by identifier, as ISO."""
    message = biip.parse(text).gs1_message
    elements = message.element_strings if message else ()
    return {e.ai.ai: e.date.isoformat() for e in elements if e.date and len(e.value) == 6}


def of_stdnum(text, mine):
    """The pairs that stdnum reads, or None; values it turned into numbers are as `mine` has them.

    It knows no repeats and raises ValueError and ArithmeticError besides its own error.
    """
    found = _of_stdnum(text)
    if found is None:
        return None
    typed = {code: _typed(code, value, found.get(code)) for code, value in mine.elements}
    return mine.elements if found == typed else tuple(found.items())


def _of_stdnum(text):
    try:
        return gs1_128.info(text.removeprefix("]C1"), GS)
    except (ValidationError, ValueError, ArithmeticError):
        return None


def _typed(code, value, theirs):
    """A value in the type that stdnum gave it; dates are compared apart."""
    if isinstance(theirs, int):
        return int(value)
    if isinstance(theirs, Decimal):
        return Decimal(int(value)).scaleb(-int(code[-1]))
    if isinstance(theirs, dt.date):
        return theirs
    return value


def dates_of_stdnum(text):
    """The plain dates that stdnum reads, by identifier, as ISO."""
    found = _of_stdnum(text) or {}
    return {c: v.isoformat() for c, v in found.items() if type(v) is dt.date}


def valid_texts(seed, count):
    """Seeded element strings that are right by construction; check digits are stdnum's."""
    rng = random.Random(seed)
    for _ in range(count):
        head, tail = rng.choice(HEADS)(rng), [t(rng) for t in rng.sample(TAILS, rng.randrange(4))]
        parts = [*head, *tail] if rng.random() < 0.7 else [*tail, *head]
        yield "]C1" + "".join(
            part + (GS if code not in FIXED and i < len(parts) - 1 else "")
            for i, (code, part) in enumerate(parts)
        )


def mutated(rng, text):
    """The text with one slip: a character changed, lost, doubled, swapped, or a separator lost."""
    at = rng.randrange(3 if text.startswith("]C1") else 8, len(text))
    slip = rng.randrange(5)
    if slip == 0:
        return text[:at] + rng.choice("0123456789AZaz-/#~ \x1d") + text[at + 1 :]
    if slip == 1:
        return text[:at] + text[at + 1 :]
    if slip == 2:
        return text[:at] + text[at] + text[at:]
    if slip == 3:
        return text[:at] + text[at : at + 2][::-1] + text[at + 2 :]
    return text.replace(GS, "", 1)


def _digits(rng, count):
    return "".join(rng.choice("0123456789") for _ in range(count))


def _checked(rng, count):
    stem = "952" + _digits(rng, count - 4)
    return stem + ean.calc_check_digit(stem)


def _text(rng, most):
    return "".join(rng.choice(SIGNS) for _ in range(rng.randrange(1, most + 1)))


def _date(rng):
    month = rng.randrange(1, 13)
    return f"{rng.randrange(100):02}{month:02}{rng.randrange(0, 29):02}"


SIGNS = "0123456789ABCDEFGHXYZabcxyz-/._+"
FIXED = {"00", "01", "02", "11", "13", "15", "17", "20", "3103", "3302", "410", "414"}
HEADS = [
    lambda rng: [("01", "01" + _checked(rng, 14))],
    lambda rng: [("01", "010" + _checked(rng, 13))],
    lambda rng: [
        ("00", "00" + _checked(rng, 18)),
        ("02", "02" + _checked(rng, 14)),
        ("37", f"37{rng.randrange(1, 10_000)}"),
    ],
    lambda rng: [("01", "01" + _checked(rng, 14)), ("21", "21" + _text(rng, 20))],
    lambda rng: [("414", "414" + _checked(rng, 13)), ("01", "01" + _checked(rng, 14))],
    lambda rng: [
        ("8006", "8006" + _checked(rng, 14) + f"0{rng.randrange(1, 5)}05"),
    ],
]
TAILS = [
    lambda rng: ("10", "10" + _text(rng, 20)),
    lambda rng: ("11", "11" + _date(rng)),
    lambda rng: ("17", "17" + _date(rng)),
    lambda rng: ("240", "240" + _text(rng, 30)),
    lambda rng: ("400", "400" + _text(rng, 30)),
    lambda rng: ("410", "410" + _checked(rng, 13)),
    lambda rng: ("20", "20" + _digits(rng, 2)),
    lambda rng: ("422", "422" + rng.choice(["276", "756", "040", "000"])),
    lambda rng: ("99", "99" + _text(rng, 90)),
    lambda rng: ("7003", "7003" + _date(rng) + "1230"),
]
