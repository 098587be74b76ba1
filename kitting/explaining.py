"""Why a stored kit has so many of an item: the parts list's reasons, the hand's, the spares', and
where it comes from now."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.utils.translation import gettext

from inventory.templatetags.amounts import amount
from kitting import by_hand, families, sourcing
from kitting.models import Kit
from kitting.plan import configuration as configurations
from kitting.plan import why, why_not
from kitting.plan.family import Family
from kitting.plan.lines import Alternative, Line, Reason
from kitting.plan.steps import Step
from kitting.plan.why import Why
from kitting.sentences import FROM_WHERE
from kitting.shelves import is_own_bag, owner_of
from kitting.sourcing import Source
from kitting.speaking import told_why


@dataclass(frozen=True, slots=True)
class Told:
    """What the page says."""

    why: Why | None  # None: nobody lists such an item
    unlisted: str  # that nobody does, with what comes near
    from_where: tuple[str, ...]  # where what is still to be picked is taken from


def told(kit: Kit, words: str) -> Told:
    """Explain an item of a kit by its code or name, as the kit was worked out."""
    family = families.family_of(kit.edition)
    lines = lines_of(kit)
    code = why_not.code_of(family, words) or _on_list(lines, words)
    if not code:
        return Told(None, why_not.unlisted(family, words, told_why), ())
    configuration = configurations.parse(dict(kit.snapshot["configuration"]), family)
    steps = [Step(s["key"], s["title"], ()) for s in kit.snapshot["steps"]]
    found = why.of(family, configuration.site(), lines, steps, code, told_why)
    if found is None:
        reasons = _dropped(kit, code) or why_not.reasons(family, configuration, code, told_why)
        return Told(why.absent(family, code, reasons, told_why), "", ())
    return Told(found, "", tuple(_from_where(kit, code)))


def lines_of(kit: Kit) -> tuple[Line, ...]:
    """A kit's lines as the engine has them."""
    return tuple(
        Line(
            item=row.item.code,
            name=row.item.name,
            tracking=row.item.tracking,
            quantity=row.quantity,
            unit=row.unit,
            step=row.step,
            reasons=tuple(Reason(**reason) for reason in row.reasons),
            pieces=tuple(row.pieces),
            alternatives=tuple(Alternative(**other) for other in row.alternatives),
        )
        for row in kit.lines.select_related("item")
    )


def choices(kit: Kit) -> list[tuple[str, str]]:
    """Every item of the kit's parts list, (code, name), that can be asked about."""
    family: Family = families.family_of(kit.edition)
    return [(item.code, item.name) for item in family.items.values()]


def _dropped(kit: Kit, code: str) -> tuple[str, ...]:
    """Why a person took an item off the list, where one did."""
    said = gettext("{0} by the parts list, taken off by hand: {1} ({2}).")
    return tuple(
        said.format(amount(one.engine, one.hand.item.unit), one.hand.reason, one.hand.by.name)
        for one in by_hand.beside(kit)
        if one.hand.item.code == code and not one.now
    )


def _on_list(lines: tuple[Line, ...], words: str) -> str:
    """An item that a person put on the list though the parts list has none such."""
    asked = words.strip().casefold()
    return next((line.item for line in lines if line.item.casefold() == asked), "")


def _from_where(kit: Kit, code: str) -> list[str]:
    """Where what is still to be picked comes from, in words, in the order of taking."""
    if not kit.is_open:
        return []
    rows = list(kit.lines.filter(item__code=code))
    sources = sourcing.sources(kit)
    found: list[Source] = []
    for row in rows:
        for one in sources.get(row.pk, []):
            last = found[-1] if found else None
            like = (
                last is not None and not one.stick and replace(last, quantity=one.quantity) == one
            )
            if last is not None and like:  # for the job and for its spares
                found[-1] = replace(last, quantity=last.quantity + one.quantity)
            else:
                found.append(one)
    return [_said(one, rows[0].unit) for one in found]


def _said(source: Source, unit: str) -> str:
    names: tuple[str, ...] = ()
    kind = source.kind
    match kind:
        case "box" if source.box_of is not None:
            names = (source.box_of.name,)
        case "van":
            if source.place is not None and is_own_bag(source.place):
                kind, names = "own", (owner_of(source.place),)
        case "shelf" if source.place is not None and source.stick and source.lot is not None:
            kind, names = "stick", (source.place.name, source.lot.number or gettext("a reel"))
        case "bag" | "shelf" if source.place is not None:
            names = (source.place.name,)
        case _:
            kind = ""
    return gettext(FROM_WHERE[kind]).format(amount(source.quantity, unit), *names)
