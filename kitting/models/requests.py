"""What a crew asks the depot for, and what became of it. Both tables only grow."""

from django.db import models
from django.db.models import Q

from inventory.models import Event, Item, Person, Place, Unit
from kitting.models.kits import Kit


class PartRequest(models.Model):
    """A crew lacks something of its kit; it stays on every page of the job until it has come."""

    class Why(models.TextChoices):
        MISSING = "missing", "missing"
        DAMAGED = "damaged", "damaged"
        WRONG = "wrong", "the wrong one"
        SHORT = "short", "left without it"

    code = models.CharField(max_length=12, unique=True)  # Q12
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="part_requests")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="part_requests")
    why = models.CharField(max_length=8, choices=Why.choices)
    item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    place = models.ForeignKey(
        Place, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )  # a whole bag, parcel or box
    quantity = models.PositiveBigIntegerField(default=1)  # base units of the item

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.code


class PartRequestStep(models.Model):
    """One step of it: somebody took it, said how it follows, it came, or nobody needs it."""

    class Kind(models.TextChoices):
        TAKEN = "taken", "taken"
        ANSWERED = "answered", "on its way"
        COME = "come", "has come"
        DROPPED = "dropped", "not needed any more"

    request = models.ForeignKey(PartRequest, on_delete=models.PROTECT, related_name="steps")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="part_request_steps")
    kind = models.CharField(max_length=8, choices=Kind.choices)
    brings = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    due = models.DateTimeField(null=True, blank=True)  # when it will be there
    words = models.CharField(max_length=200, blank=True)  # how it follows

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="answered") | ~Q(words="") | Q(brings__isnull=False),
                name="an_answer_says_who_or_how",
            )
        ]

    def __str__(self) -> str:
        return f"{self.request}: {self.get_kind_display()}"
