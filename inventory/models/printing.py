"""Printers that labels go to without a dialogue, and what became of each print. Jobs and turns only
grow."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.models.people import Person


class Printer(models.Model):
    """A print queue of the firm, and what is in the printer behind it."""

    name = models.CharField(max_length=60, unique=True)  # as people say it at the bench
    address = models.CharField(max_length=200)  # of its queue: ipp://host:631/printers/labels
    layout = models.CharField(max_length=40)  # a name of inventory/labels/layouts.csv
    dpi = models.PositiveSmallIntegerField()  # dots per inch
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["name"]

    def __str__(self) -> str:
        return self.name


class PrintJob(models.Model):
    """Labels that somebody sent to a printer. It is never sent a second time: see `again_of`."""

    printer = models.ForeignKey(Printer, on_delete=models.PROTECT, related_name="jobs")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="print_jobs")
    codes = models.JSONField()  # list of texts, one a label: drawn anew when it is printed again
    skip = models.PositiveSmallIntegerField(default=0)  # labels used on the first sheet
    again_of = models.OneToOneField(
        "self", null=True, on_delete=models.PROTECT, related_name="again"
    )  # the job whose labels a person wanted once more
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]

    def __str__(self) -> str:
        return f"{len(self.codes)} on {self.printer}"


class PrintTurn(models.Model):
    """What became of a job; the latest counts, none at all means that nobody has sent it."""

    class State(models.TextChoices):
        SENDING = "sending", "on its way, nobody knows how far"
        SENT = "sent", "with the printer"
        DONE = "done", "printed"
        FAILED = "failed", "not printed"
        UNCLEAR = "unclear", "nobody knows whether it was printed"

    job = models.ForeignKey(PrintJob, on_delete=models.PROTECT, related_name="turns")
    state = models.CharField(max_length=10, choices=State.choices)
    words = models.CharField(max_length=300, blank=True)  # why, as the queue said it
    number = models.PositiveBigIntegerField(null=True)  # of the job in its queue
    person = models.ForeignKey(
        Person, null=True, on_delete=models.PROTECT, related_name="print_turns"
    )  # who looked; null: what the queue told
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]

    def __str__(self) -> str:
        return f"{self.job_id}: {self.state}"
