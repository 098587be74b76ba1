"""Somebody at the site signed on the screen that the job was handed over. Only grows."""

from django.db import models

from inventory.models import Event
from kitting.models.kits import Kit


class HandedOver(models.Model):
    """One signature: a private photo of what was drawn, and a note with the name; both erasable."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="handed_over")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="handed_over")
    photo = models.CharField(max_length=64)  # sha256 of a Photo of "kit:<code>"
    note = models.UUIDField(null=True, blank=True)  # uid of a Note: who signed, in words

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(photo=""), name="a_signature_is_drawn")
        ]

    def __str__(self) -> str:
        return f"{self.kit} handed over"
