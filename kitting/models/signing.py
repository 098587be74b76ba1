"""What a person checked and signed because the parts list does not say it. Only grows."""

from django.db import models

from inventory.models import Item, Person
from kitting.models.kits import Kit


class CheckSigned(models.Model):
    """One answer to "check yourself" on one kit; of several to one question the latest counts."""

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="checks")
    question = models.CharField(max_length=400)  # as the kit's snapshot has it
    need = models.CharField(max_length=120, blank=True)  # "bond", "tools: fix"; empty: a condition
    item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="checks"
    )  # what is taken for it
    quantity = models.PositiveBigIntegerField(default=0)  # base units of the item
    words = models.CharField(max_length=200, blank=True)  # what was found, where nothing is taken
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["kit", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(item=None, quantity=0) & ~models.Q(words="")
                | models.Q(item__isnull=False, quantity__gte=1),
                name="a_check_says_something",
            )
        ]

    def __str__(self) -> str:
        return f"{self.question} signed on {self.kit}"
