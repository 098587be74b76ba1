"""Who may let a stopped scan through, and what was let through."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.models import Event, Person


class LeadPin(models.Model):
    """A person with a PIN may let stopped scans through; only its hash is kept."""

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="lead_pin")
    pin = models.CharField(max_length=128)
    wrong = models.PositiveSmallIntegerField(default=0)  # wrong PINs in a row
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"{self.person} is a lead"


class LeadWord(models.Model):
    """A lead said that what stopped may go on, once, and why. Only grows."""

    stopped = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="lead_words")
    lead = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=120)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")  # signed in there
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="a_lead_says_why")
        ]

    def __str__(self) -> str:
        return f"{self.lead}: {self.reason}"


class LeadWordUsed(models.Model):
    """The scan that went on by a lead's word. Only grows."""

    word = models.OneToOneField(LeadWord, on_delete=models.PROTECT, related_name="used")
    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="by_a_lead")

    def __str__(self) -> str:
        return f"{self.event} by {self.word}"
