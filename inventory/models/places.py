"""Where things are: a tree of places, and what stands at each (kept beside the ledger)."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models.things import Item, Lot


class PlaceKind(models.TextChoices):
    """Kinds of place; cartons, parcels and bags are places that move."""

    DEPOT = "depot", "depot"
    DOCK = "dock", "dock"
    BIN = "bin", "bin"
    BAY = "bay", "bay"
    VAN = "van", "van"
    CARTON = "carton", "box"
    PARCEL = "parcel", "parcel"
    BAG = "bag", "bag"
    SITE = "site", "site"
    STACK = "stack", "stack"
    SUPPLIER = "supplier", "supplier"
    CARRIER = "carrier", "carrier"
    ELSEWHERE = "elsewhere", "elsewhere"
    UNEXPLAINED = "unexplained", "unexplained"
    CUT = "cut", "cut away"
    SCRAP = "scrap", "scrapped"
    USED = "used", "used up"


OWN_KINDS = (PlaceKind.DEPOT, PlaceKind.DOCK, PlaceKind.BIN, PlaceKind.BAY, PlaceKind.VAN)
OUTSIDE = frozenset(
    {
        PlaceKind.SUPPLIER,
        PlaceKind.CARRIER,
        PlaceKind.ELSEWHERE,
        PlaceKind.UNEXPLAINED,
        PlaceKind.CUT,
        PlaceKind.SCRAP,
        PlaceKind.USED,
    }
)
LEFT_US: dict[
    str, str
] = {  # kinds of place at which nobody of ours can act on a thing -> what is said of it
    PlaceKind.SCRAP: "scrapped",
    PlaceKind.SUPPLIER: "with the supplier",
    PlaceKind.CARRIER: "with the carrier",
}
MOVABLE = frozenset({PlaceKind.CARTON, PlaceKind.PARCEL, PlaceKind.BAG})


def moves(kind: str, subject: str) -> bool:
    """Whether a place goes from place to place with what is in it.

    A bay that belongs to somebody's kit is a pallet or trolley; a bay of the depot stays.
    """
    return kind in MOVABLE or (kind == PlaceKind.BAY and bool(subject))


DEPTH = 5  # deepest: depot, bay, parcel, carton, bag


class Purpose(models.TextChoices):
    """What a place of ours is kept for; nothing there is stock that a job may be given."""

    RETURNS = "returns", "what came back and nobody has looked at yet"
    APART = "apart", "what is damaged or called back, away from people and what burns"


class Place(models.Model):
    """One place. `parent` of what moves stands beside the ledger and is rebuilt from it."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    kind = models.CharField(max_length=12, choices=PlaceKind.choices)
    code = models.CharField(max_length=120, unique=True)  # what its label says; normal form
    name = models.CharField(max_length=120)
    parent = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="children"
    )
    order = models.PositiveIntegerField(default=0)  # walking order of bins, 1 = first
    time_zone = models.CharField(max_length=60, blank=True)  # depot and site: IANA name
    warmest_c = models.SmallIntegerField(null=True, blank=True)  # kept at or below, Celsius
    purpose = models.CharField(max_length=10, choices=Purpose.choices, blank=True)
    in_use = models.BooleanField(default=True)  # no: offered nowhere, its past stays
    subject = models.CharField(max_length=60, blank=True)  # whose parcel or bag: "kit:<code>"

    class Meta:
        ordering = ["order", "code"]
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["subject"], name="place_by_subject"),  # parcels of a kit
            models.Index(fields=["kind"], name="place_by_kind"),  # ours among 100,000 sites
        ]
        constraints = [
            models.CheckConstraint(condition=~models.Q(code=""), name="place_has_a_code"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def outside(self) -> bool:
        """Whether it is none of ours: its stock may run below zero."""
        return self.kind in OUTSIDE

    def way_up(self) -> list[Place]:
        """Return this place and what it stands in, innermost first; at most DEPTH of them."""
        chain: list[Place] = []
        here: Place | None = self
        while here is not None and len(chain) <= DEPTH:
            chain.append(here)
            here = here.parent
        return chain

    @property
    def left_us(self) -> str:
        """What is said of what went here and not on our behalf, "" for all other places."""
        return LEFT_US.get(self.kind, "")

    def within(self, *kinds: str) -> Place | None:
        """Return the innermost of this place and those around it that is of one of these kinds."""
        return next((place for place in self.way_up() if place.kind in kinds), None)


class Holding(models.Model):
    """How many base units of a lot are at a place now. Rebuilt by `audit --rebuild`."""

    place = models.ForeignKey(
        Place, on_delete=models.PROTECT, related_name="holdings", db_index=False
    )
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="holdings")
    quantity = models.BigIntegerField()
    outside = models.BooleanField(default=False)  # copied from the place: may be below zero

    class Meta:
        # What lies in our places now, past the rows of all that ever lay there.
        indexes: ClassVar[list[models.Index]] = [
            models.Index(fields=["place", "quantity", "lot"], name="holding_by_place")
        ]
        constraints = [
            models.UniqueConstraint(fields=["place", "lot"], name="one_holding_per_place_and_lot"),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=0) | models.Q(outside=True),
                name="nothing_of_ours_below_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.lot} at {self.place}"


class Kept(models.Model):
    """An item is kept at a place from its first count there; before that the book knows nothing."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="kept")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="kept")
    event = models.ForeignKey("inventory.Event", on_delete=models.PROTECT, related_name="kept")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["place", "item"], name="one_first_count_per_place_item")
        ]

    def __str__(self) -> str:
        return f"{self.item.code} kept at {self.place}"
