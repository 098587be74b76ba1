"""Where a thing lies in what it travels in, told once for everybody. Only grows."""

from django.db import models

from inventory.models import Event, Item


class Whereabouts(models.Model):
    """An item lies so in its own package or in the box of another; the latest counts."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="whereabouts")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="whereabouts")
    box_of = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )  # in whose box; None: in any package of its own
    words = models.CharField(max_length=200, blank=True)
    photo = models.CharField(max_length=64, blank=True)  # sha256 of a Photo of "item:<code>"

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(words="") | ~models.Q(photo=""),
                name="whereabouts_say_something",
            )
        ]

    def __str__(self) -> str:
        return f"{self.item.code}: {self.words or 'a photo'}"
