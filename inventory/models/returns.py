"""What is on its way back: why, and what was done about it. Both tables only grow."""

from typing import ClassVar

from django.db import models

from inventory.models.events import Event
from inventory.models.things import Item, Lot, Unit


class ReturnKind(models.TextChoices):
    """Why something comes back; each has its own route, see return_routes.py."""

    LEFT = "left", "left over"
    DAMAGED = "damaged", "damaged or faulty"
    DEAD = "dead", "dead on arrival"
    WRONG = "wrong", "the wrong one"
    RECALLED = "recalled", "recalled"
    DOWN = "down", "taken down"


class Return(models.Model):
    """One thing, or so much of a batch, that comes back; void when its event was undone."""

    code = models.CharField(max_length=12, unique=True)  # R12
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="returns")
    kind = models.CharField(max_length=10, choices=ReturnKind.choices)
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="returns"
    )
    lot = models.ForeignKey(
        Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="returns"
    )
    quantity = models.PositiveBigIntegerField(default=1)  # base units

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=models.Q(unit__isnull=False, lot__isnull=True, quantity=1)
                | models.Q(unit__isnull=True, lot__isnull=False, quantity__gte=1),
                name="a_return_is_of_one_thing",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code}: {self.unit or self.lot}, {self.get_kind_display()}"

    @property
    def subject(self) -> str:
        """What its events are about."""
        return f"return:{self.code}"

    @property
    def item(self) -> Item:
        """What kind of thing it is."""
        thing = self.unit or self.lot
        assert thing is not None, "a return is of one thing"
        return thing.item


class ReturnStep(models.Model):
    """What was done about a return; one that closes it ends it, unless it was undone."""

    class Kind(models.TextChoices):
        CHECKED = "checked", "looked at"
        PACKING = "packing", "how it is packed and carried"
        TOLD = "told", "what the maker says"
        SENT = "sent", "sent back"
        SCRAPPED = "scrapped", "scrapped"
        OTHER = "other", "comes back for another reason"

    of = models.ForeignKey(Return, on_delete=models.PROTECT, related_name="steps")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="return_steps")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    value = models.CharField(max_length=40, blank=True)  # verdict and packaging, packing class
    words = models.CharField(max_length=300)
    closes = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar[list[str]] = ["pk"]

    def __str__(self) -> str:
        return self.words


class ReturnRule(models.Model):
    """What the firm asks when things of an item come back."""

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="return_rule")
    reading = models.CharField(max_length=60, blank=True)  # what is read: "charge in %"
    never_again = models.BooleanField(default=False)  # once opened it is not used again

    def __str__(self) -> str:
        return f"{self.item.code} comes back"
