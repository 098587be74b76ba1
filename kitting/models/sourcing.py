"""What people decided about where things come from. All of it only grows."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import models
from django.db.models import F, Q

from inventory.ledger.ids import uuid7
from inventory.models import Item, Person, Unit
from kitting.models.jobs import Job
from kitting.models.kits import Kit


class RunChoice(models.Model):
    """How whole stacks are put together from the shelf, for the firm; the latest row counts."""

    class Way(models.TextChoices):
        OLDEST = "oldest", "oldest first"
        MOST = "most", "most stacks"

    way = models.CharField(max_length=6, choices=Way.choices)
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="a_choice_has_a_reason")
        ]

    def __str__(self) -> str:
        return self.get_way_display()


class Serving(models.Model):
    """In which turn kits take what is short, as a person decided; the latest row counts."""

    class Way(models.TextChoices):
        MOST = "most", "most complete kits"
        DATE = "date", "by date"
        RELEASE = "release", "in the order of release"

    way = models.CharField(max_length=7, choices=Way.choices)
    whole = models.PositiveIntegerField()  # kits that it made whole when it was decided
    at_most = models.PositiveIntegerField()  # and what no turn could have passed
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.get_way_display()


class Turn(models.Model):
    """When one kit takes from the shelves. A kit without one comes after those that have one."""

    serving = models.ForeignKey(Serving, on_delete=models.PROTECT, related_name="turns")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="turns")
    place = models.PositiveIntegerField()  # from 0

    class Meta:
        ordering = ["serving", "place"]
        constraints = [
            models.UniqueConstraint(fields=["serving", "kit"], name="one_turn_for_each_kit"),
            models.UniqueConstraint(fields=["serving", "place"], name="one_kit_for_each_turn"),
        ]

    def __str__(self) -> str:
        return f"{self.kit}: {self.place}"


class Pins(models.QuerySet["Pin"]):
    """Reads of pins."""

    def standing(self) -> Pins:
        """Return the pins of open kits that were not taken out."""
        rows = self.filter(reverses=None, reversed_by=None, kit__closed_by=None)
        return rows.filter(kit__job__cancelled_at=None).order_by("pk")

    def by_unit(self, units: Iterable[int]) -> dict[int, int]:
        """Return unit id -> id of the kit to which it is pinned."""
        return dict(self.standing().filter(unit__in=list(units)).values_list("unit", "kit"))


class Pin(models.Model):
    """This very unit is for this kit."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="pins")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="pins")
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )  # the pin that this row takes out; it pins nothing itself

    objects = Pins.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="a_pin_has_a_reason")]

    def __str__(self) -> str:
        return f"{self.unit} for {self.kit}"


class Substitutes(models.QuerySet["Substitute"]):
    """Reads of substitutes."""

    def for_job(self, job: Job) -> Substitutes:
        """Return those not ended that a job of this day may take; other limits are a line's."""
        in_time = Q(until=None) | Q(until__gte=job.date)
        rows = self.filter(in_time, end=None, since__lte=job.date)
        return rows.select_related("item", "instead", "decided_by").order_by("pk")


class Substitute(models.Model):
    """What may stand for an item, how far and how long, and who said so."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="substitutes")
    instead = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="stands_for")
    # `takes` base units of the other stand for `each` base units of the item.
    takes = models.PositiveIntegerField(default=1)
    each = models.PositiveIntegerField(default=1)
    most = models.PositiveBigIntegerField(null=True, blank=True)  # base units of the item, a kit
    # Lists of names; an empty one bounds nothing.
    families = models.JSONField(default=list, blank=True)
    editions = models.JSONField(default=list, blank=True)  # dates of parts lists, ISO
    regions = models.JSONField(default=list, blank=True)  # as LASTBOLT_CODE names them
    needs = models.JSONField(default=list, blank=True)  # as the reasons of a line name them
    since = models.DateField()
    until = models.DateField(null=True, blank=True)  # last day of a job that may take it
    reason = models.CharField(max_length=200)
    decided_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    objects = Substitutes.as_manager()

    class Meta:
        ordering = ["item__code", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(item=F("instead")), name="instead_is_another"),
            models.CheckConstraint(condition=~Q(reason=""), name="a_substitute_has_a_reason"),
            models.CheckConstraint(
                condition=Q(takes__gte=1, each__gte=1), name="a_substitute_takes_something"
            ),
            models.CheckConstraint(
                condition=Q(until=None) | Q(until__gte=F("since")), name="a_substitute_has_a_day"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instead.code} instead of {self.item.code}"


class SubstituteEnd(models.Model):
    """A substitute that may be taken no more."""

    substitute = models.OneToOneField(Substitute, on_delete=models.PROTECT, related_name="end")
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="an_end_has_a_reason")]

    def __str__(self) -> str:
        return f"{self.substitute} ended"
