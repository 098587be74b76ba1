"""Recalls: what a partner's letter names, when it was frozen, what it set aside, whom to call."""

from typing import ClassVar

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models.deliveries import Partner
from inventory.models.events import Event, Hold
from inventory.models.people import Person
from inventory.models.places import Place
from inventory.models.things import Item


class Notice(models.Model):
    """One recall. All but the note is written once; the note can be erased."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    code = models.CharField(max_length=12, unique=True)  # R3
    partner = models.ForeignKey(
        Partner, null=True, blank=True, on_delete=models.PROTECT, related_name="notices"
    )
    letter = models.CharField(max_length=80)  # the letter's own reference
    words = models.CharField(max_length=120)  # what is read by whoever is stopped
    note = models.TextField(max_length=2000, blank=True)  # erasable
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]

    def __str__(self) -> str:
        return f"Recall {self.code}, letter {self.letter}"

    @property
    def subject(self) -> str:
        """What its events are about."""
        return f"notice:{self.code}"


class NoticeRule(models.Model):
    """The rule as it was pasted on a day; see codes/recall_rule.py. Only grows."""

    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="rules")
    version = models.PositiveIntegerField()  # 1 = first
    text = models.TextField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["notice", "version"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["notice", "version"], name="one_rule_per_version")
        ]

    def __str__(self) -> str:
        return f"{self.notice.code} rule {self.version}"


class NoticeFreeze(models.Model):
    """From this event on the rule counts: what it names is set aside, newcomers too. Only grows."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="freeze")
    rule = models.ForeignKey(NoticeRule, on_delete=models.PROTECT, related_name="freezes")
    done = models.PositiveIntegerField()  # parts of the rule that are gone through, see naming

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]

    def __str__(self) -> str:
        return f"{self.rule} frozen"


class NoticeHit(models.Model):
    """A hold that a recall opened. Only grows."""

    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="hits")
    hold = models.OneToOneField(Hold, on_delete=models.PROTECT, related_name="hit")
    why = models.CharField(max_length=200)  # what of the rule named it

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]

    def __str__(self) -> str:
        return f"{self.notice.code}: {self.hold}"


class NoticeCall(models.Model):
    """Somebody away from the depot has to be told of things with them. Only grows."""

    notice = models.ForeignKey(Notice, on_delete=models.PROTECT, related_name="calls")
    number = models.PositiveIntegerField()  # 1 = first of the recall
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="calls")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")  # van, site, ...
    subject = models.CharField(max_length=60, blank=True)  # opaque here: "kit:<code>"
    holds = models.ManyToManyField(Hold, related_name="calls")

    class Meta:
        ordering: ClassVar[list[str]] = ["notice", "number"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["notice", "number"], name="one_call_per_number")
        ]

    def __str__(self) -> str:
        return f"{self.notice.code} call {self.number}: {self.place}"


class NoticeUnseen(models.Model):
    """A thing nobody has seen that a recall names: it cannot be set aside, so somebody is called.

    Only grows.
    """

    call = models.ForeignKey(NoticeCall, on_delete=models.PROTECT, related_name="unseen")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="unseen_named")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=60)  # where at the call's place: "stack 1, place 2"
    why = models.CharField(max_length=200)  # what of the rule named it

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["call", "item", "words"], name="named_unseen_once")
        ]

    def __str__(self) -> str:
        return f"{self.item}, not seen, {self.words}"


class CallAnswer(models.Model):
    """They were told by voice, or their phone has it and they said so. Only grows."""

    class Kind(models.TextChoices):
        TOLD = "told", "told by voice"
        CONFIRMED = "confirmed", "read and confirmed"
        WITHDRAWN = "withdrawn", "not needed any more"

    call = models.OneToOneField(NoticeCall, on_delete=models.PROTECT, related_name="answer")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="call_answers")
    kind = models.CharField(max_length=10, choices=Kind.choices)

    def __str__(self) -> str:
        return f"{self.call}: {self.get_kind_display()}"


class NoticeEnd(models.Model):
    """A recall is over; it judges nothing any more. Only grows."""

    notice = models.OneToOneField(Notice, on_delete=models.PROTECT, related_name="end")
    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="notice_end")

    def __str__(self) -> str:
        return f"{self.notice.code} is over"
