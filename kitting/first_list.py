"""The first hour: from an uploaded sheet to questions, a kit list, and a trial that is kept."""

from __future__ import annotations

import datetime as dt
import json
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from kitting import families, sheets
from kitting.families import Loaded
from kitting.models import FamilyEdition
from kitting.plan import configuration as configurations
from kitting.plan import drafting, first_hour
from kitting.plan import kit as plan
from kitting.plan.drafting import Draft
from kitting.plan.errors import ConfigurationError, Fault
from kitting.plan.first_hour import Page, SheetError
from kitting.plan.kit import Kit


@dataclass(frozen=True, slots=True)
class Begun:
    """A sheet that could be read, with the list made from it."""

    file: str
    title: str
    pages: tuple[Page, ...]
    draft: Draft

    def kept(self) -> str:
        """The sheet as the page carries it from step to step: nothing is stored before `keep`."""
        pages = [[page.name, page.rows] for page in self.pages]
        return json.dumps([self.file, self.title, pages], ensure_ascii=False)


def begin(data: bytes, file: str, title: str) -> Begun:
    """Read a sheet. Raises SheetError with every cell at fault."""
    return _begun(sheets.pages_of(data, file), file, title)


def resume(kept: str) -> Begun:
    """Go on from what `Begun.kept` gave. Raises SheetError."""
    try:
        file, title, pages = json.loads(kept)
        read = tuple(Page(str(name), tuple(map(tuple, rows))) for name, rows in pages)
    except (ValueError, TypeError, RecursionError) as error:
        message = "expected the sheet that was read before: choose it again"
        raise SheetError([Fault("the sheet", "", message)]) from error
    return _begun(read, str(file), str(title))


def _begun(pages: tuple[Page, ...], file: str, title: str) -> Begun:
    title = " ".join(title.split())[:80] or file.rpartition(".")[0]
    name = name_of(title)
    rows = first_hour.read(pages, file)
    draft = drafting.draft(rows, name=name, title=title, edition=free_day(name))
    return Begun(file, title, pages, draft)


def name_of(title: str) -> str:
    """A family's name from what people call it.

    >>> name_of("Corbel Tower 2"), name_of("3 m"), name_of("")
    ('corbel_tower_2', 'list_3_m', 'list')
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", plain)
    if not words or not words[0][0].isalpha():
        words.insert(0, "list")
    return "_".join(words)[:40].rstrip("_")


def free_day(name: str) -> dt.date:
    """Return today, or the day after the newest edition of the family: a date is one text."""
    newest = FamilyEdition.objects.filter(name=name).order_by("-edition").first()
    today = timezone.localdate()
    return today if newest is None else max(today, newest.edition + dt.timedelta(days=1))


def kit_of(draft: Draft, answers: Mapping[str, Any]) -> Kit:
    """The kit of a draft, nothing stored. Raises ConfigurationError."""
    family = draft.family
    asked = {"family": family.name, "job": "new", **answers}
    found = plan.work_out(family, configurations.parse(asked, family))
    if found.refused:
        faults = [Fault("configuration", one.rule, one.message) for one in found.refused]
        raise ConfigurationError(faults)
    return found


def keep(begun: Begun) -> Loaded:
    """Store the trial. Raises families.EditionError."""
    return families.admit(begun.draft.text, f"{begun.draft.family.name} from {begun.file}")
