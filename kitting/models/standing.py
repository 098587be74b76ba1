"""What stands at a site; it outlives the job. Rebuilt from the events by as_built.refold."""

from django.db import models

from inventory.models import Event, Place, Unit


class AsBuilt(models.Model):
    """One unit stands, or stood, at one position of a site."""

    site = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="as_built")
    stack = models.PositiveSmallIntegerField()  # 1 = first
    level = models.PositiveSmallIntegerField()  # 1 = lowest or nearest the wall
    role = models.CharField(max_length=10)  # unit (a module), head, base, cap: see plan.layout
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="positions")
    number = models.PositiveIntegerField(null=True, blank=True)  # shown on screen, not the level
    firmware = models.CharField(max_length=60, blank=True)  # as read at commissioning
    since = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="put_up")
    until = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.PROTECT, related_name="taken_down"
    )

    class Meta:
        ordering = ["site", "stack", "level", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "stack", "level"],
                condition=models.Q(until=None),
                name="one_unit_per_position",
            ),
            models.UniqueConstraint(
                fields=["unit"], condition=models.Q(until=None), name="a_unit_stands_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit} at {self.stack}/{self.level}"
