"""What keeps its charge only so long: rules as data, and each charge that was read or given."""

from django.db import models
from django.db.models import Q

from inventory.models.events import Event
from inventory.models.things import Item, Unit


class ChargeRule(models.Model):
    """How long an item may lie uncharged at a place kept at or below so many degrees."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="charge_rules")
    up_to_c = models.SmallIntegerField()  # degrees Celsius, the band's upper end
    days = models.PositiveIntegerField()  # from one charge to the next
    recharges = models.PositiveIntegerField(null=True, blank=True)  # most on the shelf
    years = models.PositiveIntegerField(null=True, blank=True)  # longest on the shelf
    source = models.CharField(max_length=200)  # the maker's manual with its date and page

    class Meta:
        ordering = ["item", "up_to_c"]
        constraints = [
            models.UniqueConstraint(fields=["item", "up_to_c"], name="one_rule_per_item_and_band"),
            models.CheckConstraint(condition=Q(days__gte=1), name="a_charge_lasts_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.item.code} up to {self.up_to_c} C: {self.days} days"


class Charge(models.Model):
    """A unit's charge: read on its label, given here, or overdue and let through by a lead."""

    class Kind(models.TextChoices):
        LABEL = "label", "as its label says"
        RECHARGE = "recharge", "charged here"
        OVERRIDE = "override", "let through"

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="charges")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="charges")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    on = models.DateField()
    reason = models.CharField(max_length=200, blank=True)  # of an override
    limits = models.CharField(max_length=40, blank=True)  # an override's: due, recharges, years

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.unit}: {self.get_kind_display()} {self.on}"
