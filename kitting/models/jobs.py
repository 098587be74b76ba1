"""Sites, and the jobs done there."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Q

from inventory.ledger.ids import uuid7
from inventory.models import Event, Person, Place

if TYPE_CHECKING:
    from kitting.models.kits import Kit


class Sites(models.QuerySet["Site"]):
    """Sites as people look for them."""

    def named(self, text: str) -> Sites:
        """Return those with this text in their name, address or code; all for no text."""
        found = (
            Q(name__icontains=text) | Q(address__icontains=text) | Q(place__code__icontains=text)
        )
        return self.filter(found) if text else self


class Site(models.Model):
    """Where a stack stands. Name, address, number can be erased; the place and stock stay."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    name = models.CharField(max_length=120, blank=True)  # erasable
    address = models.CharField(max_length=300, blank=True)  # erasable
    phone = models.CharField(max_length=40, blank=True)  # of somebody there; erasable
    time_zone = models.CharField(max_length=60, default="UTC")  # IANA name
    place = models.OneToOneField(Place, on_delete=models.PROTECT, related_name="site")
    brought_by = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.PROTECT, related_name="brought_sites"
    )  # the part of a file that it came with

    objects = Sites.as_manager()

    def __str__(self) -> str:
        return self.name or self.place.name


class JobKind(models.TextChoices):
    """What is done at the site."""

    NEW = "new", "New"
    EXPANSION = "expansion", "Expansion"
    SWAP = "swap", "Swap"
    REMOVAL = "removal", "Removal"


class Job(models.Model):
    """One visit: what will stand at this site, when, by whom, with which van."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    code = models.CharField(max_length=12, unique=True)  # J1042
    kind = models.CharField(max_length=10, choices=JobKind.choices)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="jobs")
    date = models.DateField()  # day of the visit, in the site's zone
    leaves_at = models.DateTimeField(null=True, blank=True)  # when the van leaves the depot
    van = models.ForeignKey(
        Place, null=True, blank=True, on_delete=models.PROTECT, related_name="jobs"
    )
    crew = models.ManyToManyField(Person, blank=True, related_name="jobs")
    configuration = models.JSONField()  # see kitting/plan/README.md, "The configuration"
    before = models.JSONField(null=True, blank=True)  # what stood there when it was planned
    planned_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="planned_jobs")
    planned_at = models.DateTimeField(auto_now_add=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    brought_by = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.PROTECT, related_name="brought_jobs"
    )  # the part of a file that it came with

    class Meta:
        ordering = ["date", "leaves_at", "code"]
        indexes = [models.Index(fields=["date"], name="job_by_date")]  # a week's jobs
        constraints = [
            models.CheckConstraint(condition=~models.Q(code=""), name="job_has_a_code"),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def kit(self) -> Kit | None:
        """The latest kit that was worked out for it; earlier ones are history."""
        return self.kits.order_by("-revision").first()
