"""Suppliers and carriers, what they bring, and what we ask of them when it is not whole."""

from typing import ClassVar

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models.events import Event
from inventory.models.people import Person
from inventory.models.places import Place
from inventory.models.things import Item, Lot, Unit


class Partner(models.Model):
    """A supplier we buy from or a carrier who brings it."""

    class Kind(models.TextChoices):
        SUPPLIER = "supplier", "supplier"
        CARRIER = "carrier", "carrier"

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    keep_days = models.PositiveIntegerField(default=30)  # what is claimed is kept so long
    approval_first = models.BooleanField(default=False)  # nothing comes off without their number

    class Meta:
        ordering: ClassVar[list[str]] = ["kind", "name"]

    def __str__(self) -> str:
        return self.name


class About(models.TextChoices):
    """What a claim is about."""

    SHORTAGE = "shortage", "too little came"
    DAMAGE = "damage", "damage seen at the door"
    HIDDEN = "hidden", "damage found later"
    DEAD = "dead", "dead on arrival"
    FAULT = "fault", "a fault in service"
    WRONG = "wrong", "the wrong thing came"
    RECALL = "recall", "called back by the maker"


class How(models.TextChoices):
    """How a claim has to be told."""

    PHONE = "phone", "by phone"
    WRITING = "writing", "in writing"


class Clock(models.Model):
    """Within how many hours of the delivery a partner wants to be told, and who says so."""

    partner = models.ForeignKey(Partner, on_delete=models.CASCADE, related_name="clocks")
    about = models.CharField(max_length=10, choices=About.choices)
    how = models.CharField(max_length=10, choices=How.choices)
    hours = models.PositiveIntegerField()  # from the moment its boxes were counted
    source = models.CharField(max_length=200)  # terms, law, or "common practice"

    class Meta:
        ordering: ClassVar[list[str]] = ["about", "hours"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(
                fields=["partner", "about", "how"], name="one_clock_per_partner_and_claim"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_about_display()}, {self.get_how_display()}: {self.hours} h"


class PartnerNeed(models.Model):
    """What a partner wants with a claim beside what every claim needs."""

    partner = models.ForeignKey(Partner, on_delete=models.CASCADE, related_name="needs")
    about = models.CharField(max_length=10, choices=About.choices)
    key = models.SlugField(max_length=30)
    words = models.CharField(max_length=120)
    source = models.CharField(max_length=200)  # their terms with date

    class Meta:
        ordering: ClassVar[list[str]] = ["about", "pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(
                fields=["partner", "about", "key"], name="one_need_per_partner_and_claim"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_about_display()}: {self.words}"


class Delivery(models.Model):
    """What one delivery note says. What came of it stands in events about "delivery:<code>"."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    code = models.CharField(max_length=12, unique=True)  # D12
    note = models.CharField(max_length=60)  # number on the paper
    supplier = models.ForeignKey(Partner, on_delete=models.PROTECT, related_name="supplied")
    carrier = models.ForeignKey(
        Partner, null=True, blank=True, on_delete=models.PROTECT, related_name="carried"
    )
    dock = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="deliveries")
    boxes = models.PositiveIntegerField()  # on the note
    entered_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar[list[str]] = ["-pk"]

    def __str__(self) -> str:
        return f"{self.code}: note {self.note} of {self.supplier}"

    @property
    def subject(self) -> str:
        """What its events are about."""
        return f"delivery:{self.code}"


class ListedSerials(models.QuerySet["ListedSerial"]):
    """Lines of suppliers' serial files."""

    def current(self) -> "ListedSerials":
        """Those that no later line of the same serial put right."""
        later = ListedSerial.objects.filter(
            delivery=models.OuterRef("delivery"),
            item=models.OuterRef("item"),
            key=models.OuterRef("key"),
            pk__gt=models.OuterRef("pk"),
        )
        return self.filter(~models.Exists(later))


class ListedSerial(models.Model):
    """One line of a supplier's serial file: what should be in the delivery, by its words only.

    Lines only grow: a corrected file adds one with the other box, and the latest counts.
    """

    delivery = models.ForeignKey(Delivery, on_delete=models.PROTECT, related_name="listed")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    serial = models.CharField(max_length=90)  # as it came
    key = models.CharField(max_length=90)  # normal form
    box = models.CharField(max_length=120, blank=True)  # look-up key of the box's code, if named

    objects = ListedSerials.as_manager()

    class Meta:
        ordering: ClassVar[list[str]] = ["item", "key"]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["delivery", "item", "key"], name="listed_by_serial")
        ]

    def __str__(self) -> str:
        return f"{self.item.code} {self.serial}"


class Claim(models.Model):
    """What we ask of a supplier or carrier; opened by the event that showed what is wrong.

    It is about a delivery, or about a thing of ours that some job showed to be bad.
    """

    code = models.CharField(max_length=16, unique=True)  # D12-1 of a delivery, else C7
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="claims")
    delivery = models.ForeignKey(
        Delivery, null=True, blank=True, on_delete=models.PROTECT, related_name="claims"
    )
    partner = models.ForeignKey(
        Partner, null=True, blank=True, on_delete=models.PROTECT, related_name="claims"
    )  # none: nobody knew whom to ask; a step may have named one since, see claims.partner_of
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="claims"
    )
    lot = models.ForeignKey(
        Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="claims"
    )
    about = models.CharField(max_length=10, choices=About.choices)
    words = models.CharField(max_length=300)

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]

    def __str__(self) -> str:
        return f"{self.code}: {self.words}"

    @property
    def subject(self) -> str:
        """What its events are about."""
        return f"claim:{self.code}"


class ClaimDue(models.Model):
    """By when a claim has to be told, as the partner's clock stood when it was opened."""

    claim = models.ForeignKey(Claim, on_delete=models.PROTECT, related_name="dues")
    event = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )  # that put the claim to somebody else; none: since it was opened
    how = models.CharField(max_length=10, choices=How.choices)
    at = models.DateTimeField()
    source = models.CharField(max_length=200)

    class Meta:
        ordering: ClassVar[list[str]] = ["at"]

    def __str__(self) -> str:
        return f"{self.get_how_display()} until {self.at}"


class ClaimStep(models.Model):
    """What was done about a claim; one that closes it ends all its clocks."""

    class Kind(models.TextChoices):
        NEED = "need", "something of what it needs"  # value: its key
        PARTNER = "partner", "whom it is put to"
        APPROVED = "approved", "approved"  # value: their number
        DANGER = "danger", "taken away before, for danger"
        EXPECTED = "expected", "asked for"  # amount
        CREDIT = "credit", "credited"  # amount; value: number of the credit note

    claim = models.ForeignKey(Claim, on_delete=models.PROTECT, related_name="steps")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="claim_steps")
    how = models.CharField(max_length=10, choices=How.choices, blank=True)  # told so
    closes = models.BooleanField(default=False)
    kind = models.CharField(max_length=10, choices=Kind.choices, blank=True)
    value = models.CharField(max_length=120, blank=True)
    amount = models.PositiveBigIntegerField(null=True, blank=True)  # smallest coin (cents)
    partner = models.ForeignKey(
        Partner, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    photo = models.CharField(max_length=64, blank=True)  # SHA-256 of a Photo
    words = models.CharField(max_length=200)

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]

    def __str__(self) -> str:
        return self.words
