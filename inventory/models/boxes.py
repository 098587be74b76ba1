"""What the boxes of suppliers hold, dated; and which of it is in doubt. All of it only grows."""

from django.db import models

from inventory.models.events import Event
from inventory.models.things import Item, Lot


class CartonContent(models.Model):
    """What a supplier's box of this item should hold besides or instead of the thing itself."""

    box_of = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="box_contents")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="comes_in_boxes")
    quantity = models.PositiveIntegerField()  # base units; 0: from this day on no longer in it
    since = models.DateField()  # contents are dated: of several the latest counts

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["box_of", "item", "since"], name="one_content_line_per_box_item_date"
            )
        ]

    def __str__(self) -> str:
        return f"box of {self.box_of.code}: {self.quantity} x {self.item.code}"


class BoxDoubt(models.Model):
    """A box of this batch was opened and held something else: the others are not relied on."""

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="box_doubts")
    content = models.ForeignKey(CartonContent, on_delete=models.PROTECT, related_name="doubts")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="box_doubts")  # of the box
    found = models.PositiveBigIntegerField()  # base units of the content's item

    def __str__(self) -> str:
        return f"{self.lot}: {self.content} in doubt"


class BoxDoubtEnd(models.Model):
    """Ends a doubt: another box of the batch was opened and held what is told."""

    doubt = models.OneToOneField(BoxDoubt, on_delete=models.PROTECT, related_name="end")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="box_doubt_ends")

    def __str__(self) -> str:
        return f"{self.doubt}: ended"
