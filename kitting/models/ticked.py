"""Somebody looked one thing over at a stack and ticked it. Only grows."""

from django.db import models

from inventory.models import Event
from kitting.models.kits import Kit


class Ticked(models.Model):
    """One tick of plan.ticks, with its photo where one was wanted."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="ticked")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="ticked")
    stack = models.PositiveSmallIntegerField()  # 1 = first
    key = models.CharField(max_length=20)
    photo = models.CharField(max_length=64, blank=True)  # sha256 of a Photo of "kit:<code>"

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.kit}, stack {self.stack}: {self.key}"
