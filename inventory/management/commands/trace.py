"""The whole chain of one thing, or of a delivery, a job or a person."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from inventory import standing_now
from inventory.links import Link
from inventory.look_back import look_back
from inventory.management.command import OurCommand
from inventory.scanning import NO_THING
from inventory.standing_now import Stood
from inventory.tracing import Chain
from inventory.words import measure


class Command(OurCommand):
    """Tell who, when, from where to where; of what is no thing, what happened about it."""

    help = "Tell the whole chain of a unit, batch, box, parcel, delivery, job or person."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The code as scanned or typed."""
        parser.add_argument("code", help="what a label says, or a delivery, job or name")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the chain. Raises CommandError (exit 1) where nothing is known of the code."""
        found, _ = look_back(options["code"], people=True)
        if found.kind in ("unknown", "none", *NO_THING) and not found.links:
            raise CommandError(
                f"code: expected a code that is known here or was scanned, got {options['code']!r}"
            )
        if options["json"]:
            self.stdout.write(json.dumps(found.as_json(), default=str, ensure_ascii=False))
            return
        self.stdout.write("\n".join(_told(found)))


def _told(found: Chain) -> list[str]:
    known = f" ({found.evidence})" if found.evidence else ""
    lines = [f"{found.name}{known}"]
    if found.kind in ("unit", "box", "place", "lot", "item"):
        lines.append(f"stands: {', in '.join(found.stands) or 'not in one place'}")
    if found.cut:
        lines.append("older events are left out")
    lines += [_line(link) for link in found.links]
    lines += [f"now: {_stood(row)}" for row in found.things]
    if most := standing_now.most_of(found.things):
        lines.append(f"now: no more than {most:,} of a kind are told")
    lines += [f"set aside: {hold}" for hold in found.holds]
    lines += [f"problem: {finding}" for finding in found.findings]
    return lines + [f"broken chain: {words}" for words in found.breaks]


def _stood(row: Stood) -> str:
    where = ", in ".join(row.places) or "nowhere"
    return f"{measure(row.quantity, row.unit)} x {row.thing}: {where}"


def _line(link: Link) -> str:
    count = f"{link.quantity} x " if link.quantity > 1 else ""
    moved = f"  {count}{link.thing}: {link.start or 'nowhere'} -> {link.to}" if link.to else ""
    inside = "  (with all that is in it)" if link.inside else ""
    undone = "  (undone)" if link.undone else ""
    clock = "  (its clock was wrong)" if link.clock_off else ""
    return (
        f"{link.number:>7}  {link.device_time:%d %b %Y %H:%M}{clock}"
        f"  received {link.received_at:%d %b %H:%M}  {link.who}  {link.step}"
        f"{moved}{inside}{undone}  {link.verdict}: {link.sentence}  [{link.evidence}]"
    )
