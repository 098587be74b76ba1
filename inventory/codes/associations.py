"""Which elements may, and which must, stand together on one thing.

Source: GS1 General Specifications 4.13 and 4.14, by tables/gs1_identifiers.csv. Strictly the
pairing holds over all codes on a thing; here it is judged within one code.
"""

from collections.abc import Sequence

from inventory.codes.errors import CodeError
from inventory.codes.identifiers import matches, table

Elements = tuple[tuple[str, str], ...]

INTERNAL = range(90, 100)
"""Identifiers that a company may fill as it likes: beside them the rules of need are its own."""


def check(elements: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Return warnings. Raises CodeError repeat_conflict, mutually_exclusive, missing_required."""
    codes = {code for code, _ in elements}
    _check_repeats(elements)
    _check_exclusions(codes)
    missing = [code for code in sorted(codes) if not _needs_met(code, codes)]
    if missing and not any(is_internal(code) for code in codes):
        wanted = " or ".join("+".join(group) for group in table()[missing[0]].needs)
        raise CodeError(
            "missing_required", f"expected {wanted} beside ({missing[0]}), got none of them"
        )
    return tuple(f"missing_required:{code}" for code in missing)


def is_internal(code: str) -> bool:
    """Whether the identifier is one of 90 to 99."""
    return len(code) == 2 and int(code) in INTERNAL


def _check_repeats(elements: Sequence[tuple[str, str]]) -> None:
    seen: dict[str, str] = {}
    for code, value in elements:
        if seen.setdefault(code, value) != value:
            message = f"expected ({code}) once, got {seen[code]!r} and {value!r}"
            raise CodeError("repeat_conflict", message)


def _check_exclusions(codes: set[str]) -> None:
    for code in sorted(codes):
        for pattern in table()[code].forbids:
            clash = sorted(o for o in codes if o != code and matches(pattern, o))
            if clash:
                message = f"expected either ({code}) or ({clash[0]}), got both"
                raise CodeError("mutually_exclusive", message)


def _needs_met(code: str, codes: set[str]) -> bool:
    groups = table()[code].needs
    return not groups or any(
        all(any(matches(pattern, other) for other in codes) for pattern in group)
        for group in groups
    )
