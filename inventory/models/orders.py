"""What is on order with a supplier. What of it came is read from deliveries, never entered."""

from django.db import models
from django.db.models import Q

from inventory.models.deliveries import Partner
from inventory.models.people import Person
from inventory.models.things import Item


class OrderLine(models.Model):
    """So much of an item is on order and promised for a day."""

    supplier = models.ForeignKey(Partner, on_delete=models.PROTECT, related_name="order_lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="order_lines")
    quantity = models.PositiveBigIntegerField()  # base units of the item
    promised_on = models.DateField()
    number = models.CharField(max_length=60, blank=True)  # of our order, as the supplier knows it
    entered_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)  # what has not come will not come
    closed_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["promised_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gte=1), name="an_order_is_of_something")
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.item.code} from {self.supplier} by {self.promised_on}"
