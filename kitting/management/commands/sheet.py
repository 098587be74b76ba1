"""`manage.py sheet KIND CODE --out FILE`: a sheet of a kit as PDF, as its page prints it."""

from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import translation

from kitting.models import Job, Kit
from kitting.printing import handover, paper, pick, site

KINDS = {"pick": pick.pdf, "site": site.pdf, "handover": handover.pdf}


class Command(BaseCommand):
    """Writes one sheet; exits 1 where there is no such kit or paper."""

    help = "Prints the pick, site or hand-over sheet of a kit."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("kind", choices=sorted(KINDS))
        parser.add_argument("code", help="kit (J1042-1) or job (J1042: its latest kit)")
        parser.add_argument("--out", required=True, help="file to write")
        parser.add_argument("--language", default=settings.LANGUAGE_CODE, help="en-gb, de or es")
        parser.add_argument("--paper", default=settings.PAPER, help="A4 or Letter")

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
                Path(str(options["out"])).write_bytes(KINDS[str(options["kind"])](kit, size))
        except (ValueError, OSError) as error:
            raise CommandError(str(error)) from error
