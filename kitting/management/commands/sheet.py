"""`manage.py sheet KIND CODE --out FILE`: a sheet of a kit as PDF, as its page prints it."""

import json
from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.utils import translation

from inventory.management.command import OurCommand
from inventory.management.paths import ToWrite
from inventory.whole_file import write_whole
from kitting.models import Job, Kit
from kitting.printing import handover, paper, pick, site

KINDS = {"pick": pick.pdf, "site": site.pdf, "handover": handover.pdf}


class Command(OurCommand):
    """Writes one sheet; exits 1 where there is no such kit or paper."""

    help = "Prints the pick, site or hand-over sheet of a kit."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("kind", choices=sorted(KINDS))
        parser.add_argument("code", help="kit (J1042-1) or job (J1042: its latest kit)")
        parser.add_argument("--out", type=ToWrite, required=True, help="file to write")
        parser.add_argument("--language", default=settings.LANGUAGE_CODE, help="en-gb, de or es")
        parser.add_argument("--paper", default=settings.PAPER, help="A4 or Letter")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: object, **options: object) -> None:
        code = str(options["code"])
        kit = Kit.objects.filter(code=code).first()
        job = Job.objects.filter(code=code).first()
        kit = kit or (job.kit if job is not None else None)
        if kit is None:
            raise CommandError(f"code: expected a kit or a job that has one, got {code!r}")
        try:
            size = paper.first_of(str(options["paper"]))
            with translation.override(str(options["language"])):
                drawn = KINDS[str(options["kind"])](kit, size)
        except ValueError as error:
            raise CommandError(str(error)) from error
        out = Path(str(options["out"]))
        write_whole(out, [drawn])
        told = {"file": str(out), "kit": kit.code, "bytes": len(drawn)}
        plain = f"{out}: the {options['kind']} sheet of {kit.code}"
        self.stdout.write(json.dumps(told) if options["json"] else plain)
