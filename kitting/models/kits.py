"""Kits: a snapshot of what a job needs, its lines, and what the kit travels in."""

from __future__ import annotations

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models import Event, Item, Person, Place
from kitting.models.families import FamilyEdition
from kitting.plan.needs import PATH_NEEDS


class Kit(models.Model):
    """What one job needs, as worked out once. A change is a new kit with the next revision."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    job = models.ForeignKey("kitting.Job", on_delete=models.PROTECT, related_name="kits")
    revision = models.PositiveSmallIntegerField()  # 1 = first
    code = models.CharField(max_length=16, unique=True)  # J1042-1
    letter = models.CharField(max_length=2, blank=True)  # on its boxes; "" until it is released
    edition = models.ForeignKey(FamilyEdition, on_delete=models.PROTECT, related_name="kits")
    # configuration, edition hash, table editions, engine version, cautions, unresolved, positions,
    # comes_back, steps: see packing.snapshot
    snapshot = models.JSONField()
    worked_out_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    worked_out_at = models.DateTimeField(auto_now_add=True)
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    # The event that closed it; beside the ledger, rebuilt from it.
    closed_by = models.OneToOneField(
        Event, null=True, blank=True, on_delete=models.PROTECT, related_name="closed_kit"
    )

    class Meta:
        ordering = ["job", "revision"]
        constraints = [
            models.UniqueConstraint(fields=["job", "revision"], name="one_kit_per_job_revision"),
            models.CheckConstraint(
                condition=models.Q(closed_by=None) | models.Q(released_at__isnull=False),
                name="only_a_released_kit_closes",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def subject(self) -> str:
        """How events and places name it."""
        return f"kit:{self.code}"

    @property
    def is_open(self) -> bool:
        """Released and not closed yet."""
        return self.released_at is not None and self.closed_by_id is None


class KitLine(models.Model):
    """One item at one step, with why."""

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="kit_lines")
    quantity = models.PositiveBigIntegerField()  # base units of the item
    unit = models.CharField(max_length=6)  # the item's base unit when it was worked out
    step = models.CharField(max_length=20)  # key of the step that needs it
    order = models.PositiveIntegerField()  # place in the kit's list, 0 = first
    spare = models.BooleanField(default=False)  # taken besides, by risk; comes back if not used
    reasons = models.JSONField()  # list of {need, rule, arithmetic, source}
    pieces = models.JSONField(default=list)  # mm of each single piece of a length
    # {question, answer, quantity}: what each answer to an open question takes; the rest comes back
    alternatives = models.JSONField(default=list)

    class Meta:
        ordering = ["order"]
        constraints = [
            models.UniqueConstraint(
                fields=["kit", "item", "step"], name="one_line_per_item_and_step"
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=1), name="a_line_needs_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.item.code} for {self.step}"

    @property
    def whole(self) -> list[int]:
        """mm of each piece that has to be one; none where bars are joined, as conduit's are."""
        joined = self.pieces and any(
            reason["need"].startswith(PATH_NEEDS) for reason in self.reasons
        )
        return [] if joined else list(self.pieces)

    @property
    def undecided(self) -> int:
        """Base units that the true answer to an open question may leave unused."""
        least: dict[str, int] = {}
        most: dict[str, int] = {}
        for other in self.alternatives:
            axis, quantity = other["question"], other["quantity"]
            least[axis] = min(least.get(axis, quantity), quantity)
            most[axis] = max(most.get(axis, 0), quantity)
        return min(sum(most[axis] - least[axis] for axis in most), self.quantity)


class Package(models.Model):
    """What a released kit travels in; each is a place with a label of its own."""

    class Kind(models.TextChoices):
        PARCEL = "parcel", "parcel"  # holds the bags; one scan loads it
        BAG = "bag", "bag"  # small parts of one step
        BAY = "bay", "bay"  # at the dock: boxes and long things, loaded one by one
        LOAD = "load", "on the van"  # what was loaded outside the parcels

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="packages")
    place = models.OneToOneField(Place, on_delete=models.PROTECT, related_name="package")
    kind = models.CharField(max_length=6, choices=Kind.choices)
    step = models.CharField(max_length=20, blank=True)  # of a bag
    number = models.PositiveSmallIntegerField(default=1)  # of its kind in this kit
    van = models.ForeignKey(
        Place, null=True, blank=True, on_delete=models.PROTECT, related_name="split_packages"
    )  # the van it goes with, where that is not the job's

    class Meta:
        ordering = ["kit", "kind", "number"]
        constraints = [
            models.UniqueConstraint(fields=["kit", "kind", "number"], name="one_package_per_number")
        ]

    def __str__(self) -> str:
        return f"{self.place.name} of {self.kit.code}"
