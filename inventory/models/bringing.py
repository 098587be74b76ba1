"""Files that people bring in: judged whole, then taken in by parts, each part one event."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models.events import Event
from inventory.models.people import Device, Person


class BroughtFile(models.Model):
    """One file with how far it has come. Its bytes and rows are erased once it is over.

    Looked at -> begun -> finished, or begun -> being taken back -> taken back; nothing else.
    """

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    code = models.CharField(max_length=12, unique=True)  # F7
    kind = models.CharField(max_length=20)  # of file: items, stock ...
    name = models.CharField(max_length=120)  # as the person's machine calls it
    sha256 = models.CharField(max_length=64)  # of the bytes that came, hex
    choices = models.JSONField()  # what the person said of it: decimal, encoding, delimiter
    data = models.BinaryField(null=True)  # erased when it is over
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="brought_files")
    device = models.OneToOneField(
        Device, null=True, on_delete=models.PROTECT, related_name="brought_file"
    )  # its parts are this device's events, from 1 up
    rows = models.PositiveIntegerField(default=0)  # that say something new
    looked_at = models.DateTimeField(auto_now_add=True)
    begun_at = models.DateTimeField(null=True)
    begun_after = models.PositiveBigIntegerField(null=True)  # number of the last event till then
    finished_at = models.DateTimeField(null=True)
    turned_at = models.DateTimeField(null=True)  # from here on it can only be taken back
    taken_back_at = models.DateTimeField(null=True)
    why = models.CharField(max_length=400, blank=True)  # it was taken back

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["kind", "sha256"], name="brought_by_sum")
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def subject(self) -> str:
        """What its events are about."""
        return f"file:{self.code}"

    @property
    def state(self) -> str:
        """How far it has come, in words."""
        if self.taken_back_at:
            return "taken back"
        if self.finished_at:
            return "brought in"
        if self.turned_at:
            return "being taken back"
        return "begun, not finished" if self.begun_at else "looked at"


class BroughtPart(models.Model):
    """Some rows of a file: one event, one transaction."""

    file = models.ForeignKey(BroughtFile, on_delete=models.PROTECT, related_name="parts")
    number = models.PositiveIntegerField()  # 1 = first
    rows = models.JSONField()  # as they were judged; emptied where they hold names of people
    sha256 = models.CharField(max_length=64)  # of the rows as they were judged, hex
    uid = models.UUIDField(unique=True, default=uuid7, editable=False)  # of its event
    event = models.OneToOneField(
        Event, null=True, on_delete=models.PROTECT, related_name="brought_part"
    )

    class Meta:
        ordering: ClassVar[list[str]] = ["file", "number"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["file", "number"], name="one_part_per_file_and_number")
        ]

    def __str__(self) -> str:
        return f"{self.file.code}, part {self.number}"
