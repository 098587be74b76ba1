"""The label of a whole kit, for the bay it is gathered in: which van takes it and when, never whose
it is."""

from __future__ import annotations

from inventory.codes import own
from inventory.codes.errors import CodeError
from inventory.labels.label import Label
from kitting.models import Kit, Package

KIND = "kit"


def code_of(kit: Kit) -> str:
    """The text of a kit's label, the same for ever."""
    return own.make(KIND, kit.pk)


def by_code(text: str) -> Kit | None:
    """Return the kit that a label of ours names."""
    try:
        read = own.parse(text)
    except CodeError:
        return None
    return Kit.objects.filter(pk=read.number).first() if read.kind == KIND else None


def of_kit(kit: Kit) -> Label:
    """Return the label of a kit."""
    van, day = kit.job.van, f"{kit.job.date:%a %-d %b %Y}"
    packages = kit.packages.filter(kind__in=(Package.Kind.PARCEL, Package.Kind.BAG)).count()
    inside = "1 parcel or bag" if packages == 1 else f"{packages} parcels and bags"
    title = f"Kit for {van.name}" if van is not None else "Kit"
    title = f"{kit.letter}: {title}" if kit.letter else title
    return Label(KIND, title[:60], code=code_of(kit), lines=(day, inside))


def label_by_number(number: int) -> Label | None:
    """Return the label of a kit by the number in its code."""
    kit = Kit.objects.filter(pk=number).select_related("job__van").first()
    return of_kit(kit) if kit is not None else None
