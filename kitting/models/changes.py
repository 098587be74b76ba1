"""What a person changed: a kit after its release, a line by hand. Both only grow."""

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models import Item, Person
from kitting.models.kits import Kit


class KitChange(models.Model):
    """One change of a released kit: what it was, what it is, and the difference."""

    class Kind(models.TextChoices):
        OFFICE = "office", "changed by the office"
        SITE = "site", "the site differs"
        HAND = "hand", "a line changed by hand"

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="changes")
    number = models.PositiveSmallIntegerField()  # 1 = first of this kit
    kind = models.CharField(max_length=10, choices=Kind.choices)
    old_snapshot = models.JSONField()  # as Kit.snapshot, with "lines"
    new_snapshot = models.JSONField()  # the same, after the change
    difference = models.JSONField()  # see plan.difference.Difference.as_json
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["kit", "number"]
        constraints = [
            models.UniqueConstraint(fields=["kit", "number"], name="one_change_per_number"),
            models.CheckConstraint(condition=~models.Q(reason=""), name="a_change_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"change {self.number} of {self.kit}"


class HandLine(models.Model):
    """A person's change of one line of a job's kits; it survives every working out."""

    class Verb(models.TextChoices):
        ADD = "add", "added"
        DROP = "drop", "dropped"
        CHANGE = "change", "changed"

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    job = models.ForeignKey("kitting.Job", on_delete=models.PROTECT, related_name="hand_lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="hand_lines")
    step = models.CharField(max_length=20)  # key of the step that needs it
    verb = models.CharField(max_length=6, choices=Verb.choices)
    quantity = models.PositiveBigIntegerField(default=0)  # base units there shall be; 0: dropped
    pieces = models.JSONField(default=list)  # mm of each piece of a length; empty: one of them all
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )  # the change that this row takes back; it changes nothing else
    # Of lines that were changed as one: all bear the same id, and go back together.
    pair = models.UUIDField(null=True, blank=True, editable=False)
    substitute = models.ForeignKey(
        "kitting.Substitute",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="hand_lines",
    )

    class Meta:
        ordering = ["job", "pk"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(reason=""), name="a_hand_has_a_reason"),
            models.CheckConstraint(
                condition=models.Q(verb="drop", quantity=0)
                | (~models.Q(verb="drop") & models.Q(quantity__gte=1)),
                name="only_a_dropped_line_is_empty",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item.code} {self.get_verb_display()} on {self.job}"
