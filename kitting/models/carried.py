"""What a van or a person's own bag always carries: a new row replaces the one before."""

from django.db import models

from inventory.models import Item, Person, Place


class OwnBag(models.Model):
    """The bag a person takes along to every job, whichever the van; it only grows."""

    person = models.OneToOneField(Person, on_delete=models.PROTECT, related_name="own_bag")
    place = models.OneToOneField(Place, on_delete=models.PROTECT, related_name="own_bag")
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.place.name


class CarriedRows(models.Manager["Carried"]):
    """Rows with their items: a list is told by names."""

    def get_queryset(self) -> models.QuerySet["Carried"]:
        """Return all rows with their items."""
        return super().get_queryset().select_related("item")


class Carried(models.Model):
    """From now on a place carries at least so much of an item, and is filled up to so much."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="carried")  # van or bag
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="carried")
    least = models.PositiveIntegerField()  # base units; below it the place is topped up
    up_to = models.PositiveIntegerField()  # base units; 0: it is no longer on the list
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    objects = CarriedRows()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(least__lte=models.F("up_to")), name="least_within_up_to"
            )
        ]

    def __str__(self) -> str:
        return f"{self.least} to {self.up_to} x {self.item.code} on {self.place.code}"
