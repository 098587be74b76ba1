"""What the pages of files brought in ask and show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from inventory.bringing import running
from inventory.bringing.kinds import CHANGE, KINDS, NEW, Change, Found, Kind
from inventory.bringing.looking import Look
from inventory.incoming.errors import Fault, FileRefused
from inventory.incoming.reading import Choices
from inventory.incoming.tables import MOST_BYTES, MOST_ROWS
from inventory.incoming.texts import ENCODINGS, MARKS
from inventory.models import BroughtFile, Person
from inventory.plain_forms import PlainForm

SHOWN = 100  # rows of each sort that the page lists
ITSELF = ("", "As the file shows")
MEGA = 1_000_000


class FileForm(PlainForm):
    """One file and what its words and numbers are written in."""

    kind = forms.ChoiceField(label="What the file holds", widget=forms.RadioSelect)
    file = forms.FileField(
        label="File",
        max_length=120,
        help_text=f".csv or .xlsx, at most {MOST_BYTES // MEGA} MB and {MOST_ROWS:,} rows",
    )
    decimal = forms.ChoiceField(
        label="Numbers have a decimal",
        required=False,
        choices=[ITSELF, ("comma", "comma: 1.250,5"), ("point", "point: 1,250.5")],
        widget=forms.RadioSelect,
    )
    encoding = forms.ChoiceField(
        label="Letters of a .csv are written in",
        required=False,
        choices=[ITSELF, *((name, name) for name in ENCODINGS)],
    )
    delimiter = forms.ChoiceField(
        label="Between the columns of a .csv stands a",
        required=False,
        choices=[ITSELF, *((name, name) for name in MARKS.values())],
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """Offer the kinds that are there."""
        super().__init__(*args, **kwargs)
        kinds = [(kind.name, kind.title) for kind in KINDS.values()]
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]  # a ChoiceField

    def clean_file(self) -> UploadedFile[bytes]:
        """Say no to a large file before it is read."""
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise ValidationError(f"File: expected at most {MOST_BYTES} bytes, got {file.size}")
        return file

    def kept(self, by: Person) -> BroughtFile:
        """Keep the file of a valid form, to be looked at."""
        given = self.cleaned_data
        choices = Choices(given["decimal"], given["encoding"], given["delimiter"])
        return running.keep(
            KINDS[given["kind"]], given["file"].name, choices, given["file"].read(), by
        )


@dataclass(frozen=True, slots=True)
class Preview:
    """A file that waits to be confirmed, as the page shows it."""

    seen: Look | None
    refused: str = ""  # why it cannot be read at all

    @property
    def faults(self) -> Sequence[Fault]:
        """The first of what is wrong."""
        return self.seen.faults[:SHOWN] if self.seen else ()

    @property
    def changes(self) -> list[tuple[Found, Change]]:
        """The first of what would be changed."""
        return [(one, change) for one in self._rows(CHANGE)[:SHOWN] for change in one.changes]

    @property
    def fresh(self) -> list[Found]:
        """The first of what is new."""
        return self._rows(NEW)[:SHOWN]

    @property
    def notes(self) -> list[Found]:
        """The first rows that are good but should be known about."""
        return [one for one in (self.seen.found if self.seen else ()) if one.note][:SHOWN]

    @property
    def writes(self) -> int:
        """How many rows would be written; 0 where the file cannot come in."""
        may = self.seen is not None and not self.seen.faults and not self.seen.before
        return len(self.seen.to_write) if may and self.seen else 0

    def _rows(self, state: str) -> list[Found]:
        return [one for one in (self.seen.found if self.seen else ()) if one.state == state]


def preview(file: BroughtFile, by: Person) -> Preview:
    """Judge a kept file by what there is now."""
    try:
        return Preview(running.look_again(file, by))
    except FileRefused as error:
        return Preview(None, str(error))


def kinds() -> list[Kind]:
    """Every kind of file, in the order of the page."""
    return list(KINDS.values())
