"""Revisions that may stand together, and old units that accept no expansion."""

from collections.abc import Iterator

from kitting.plan.configuration import Configuration
from kitting.plan.family import Family
from kitting.plan.open_questions import Unresolved

NOT_KNOWN = ""
"""Revision of a unit that nobody has looked at."""


def present(configuration: Configuration) -> frozenset[str]:
    """Revisions that will stand together, as far as they are known."""
    held = [*configuration.revisions]
    if configuration.before is not None:
        held += configuration.before.revisions
    return frozenset(one for row in held for one in row if one != NOT_KNOWN)


def barred(family: Family, configuration: Configuration) -> Iterator[tuple[str, str]]:
    """(rule, message) of every reason why these revisions cannot be."""
    found = present(configuration)
    if len(found) > 1:
        together = [mixing for mixing in family.mixings if found <= mixing.revisions]
        named = ", ".join(sorted(found))
        if not together:
            yield "mixing", f"revisions {named} are not listed as standing together"
        for mixing in together:
            if mixing.verdict == "barred":
                yield "mixing", f"{mixing.message} (revisions {named})"
    for stack, level, revision in _standing(family, configuration):
        if revision != NOT_KNOWN and not accepts(family, revision):
            unit = f"stack {stack} place {level} is revision {revision}"
            yield "expands_from", f"{unit}: expected {family.expands_from} or later"


def accepts(family: Family, revision: str) -> bool:
    """Whether a unit of this revision accepts an expansion; one the family never named does not."""
    if not family.expands_from:
        return True
    known = family.revisions
    least = known.index(family.expands_from)
    return revision in known and known.index(revision) >= least


def checks(family: Family, configuration: Configuration) -> Iterator[Unresolved]:
    """What a person must see to: mixes on a condition, and units whose revision nobody knows."""
    found = present(configuration)
    for mixing in family.mixings:
        if len(found) > 1 and found <= mixing.revisions and mixing.verdict == "allowed if":
            named = ", ".join(sorted(found))
            question = f"check yourself: {mixing.message} (revisions {named})"
            yield Unresolved("", question, (), (), ())
    for stack, level, revision in _standing(family, configuration):
        if revision == NOT_KNOWN:
            question = (
                f"check yourself: the revision of stack {stack} place {level} is not known; "
                f"expected {family.expands_from} or later before the stack may grow"
            )
            yield Unresolved("", question, (), (), ())


def _standing(family: Family, configuration: Configuration) -> Iterator[tuple[int, int, str]]:
    """(stack, level, revision) of the units that would have to accept an expansion."""
    if configuration.before is None or not family.expands_from:
        return
    for stack, held in enumerate(configuration.before.revisions, 1):
        for level, revision in enumerate(held, 1):
            yield stack, level, revision
