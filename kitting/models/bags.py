"""Bags made ahead: what each kind holds, dated, and each bag that was made. All of it only grows.

A bag is a place with a label; what is in it are the holdings there, so a bag keeps what it was made
with whatever later contents say.
"""

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models import Event, Item, Person, Place


class BagContent(models.Model):
    """What a bag of this kind is made with from a day on; of several the latest counts."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    bag = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="bag_contents")
    since = models.DateField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["bag", "since"]
        constraints = [
            models.UniqueConstraint(fields=["bag", "since"], name="one_bag_content_a_day")
        ]

    def __str__(self) -> str:
        return f"{self.bag.name} of {self.since}"


class BagPart(models.Model):
    """One item of a content."""

    content = models.ForeignKey(BagContent, on_delete=models.PROTECT, related_name="parts")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="bag_parts")
    quantity = models.PositiveIntegerField()  # base units

    class Meta:
        ordering = ["content", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["content", "item"], name="one_bag_part_per_item"),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=1), name="a_bag_part_is_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.item.code} in {self.content}"


class MadeBag(models.Model):
    """A labelled bag was filled by an event; filled again later it has one more row."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="made_bag")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="made_bags")
    content = models.ForeignKey(BagContent, on_delete=models.PROTECT, related_name="made_bags")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.place.code}: {self.content}"
