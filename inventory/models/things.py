"""What we have: items (kinds of thing), units (one each, with a serial) and lots (batches)."""

from django.db import models

from inventory.ledger.ids import uuid7


class Tracking(models.TextChoices):
    """How closely an item is followed."""

    SERIAL = "serial", "each by its serial"
    LOT = "lot", "by batch"
    COUNT = "count", "by number"
    LENGTH = "length", "cut from a reel"
    TOOL = "tool", "tool, comes back"
    SUPPLY = "supply", "used up when taken from the shelf"


class BaseUnit(models.TextChoices):
    """What a quantity counts, fixed for ever per item; packs and metres are display."""

    PIECE = "piece", "pieces"
    MM = "mm", "mm"
    UL = "ul", "microlitres"
    MM2 = "mm2", "mm2"


class Item(models.Model):
    """A kind of thing."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    tracking = models.CharField(max_length=10, choices=Tracking.choices)
    unit = models.CharField(max_length=6, choices=BaseUnit.choices, default=BaseUnit.PIECE)
    mass_g = models.PositiveIntegerField(default=0)  # of one base unit; of a metre for mm items
    opened_days = models.PositiveIntegerField(null=True, blank=True)  # keeps so long once opened
    # What `cost_for` base units cost in the smallest coin (cents); 0 = nobody entered it.
    cost = models.PositiveBigIntegerField(default=0, blank=True)
    cost_for = models.PositiveBigIntegerField(default=1, blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(code=""), name="item_has_a_code"),
            models.CheckConstraint(
                condition=~models.Q(tracking="serial") | models.Q(unit="piece"),
                name="a_serial_item_counts_pieces",
            ),
            models.CheckConstraint(
                condition=models.Q(cost_for__gte=1), name="a_cost_is_of_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class ItemCode(models.Model):
    """A text on the outside of things of this item that many of them share (EAN, bag, shelf)."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="codes")
    text = models.CharField(max_length=120)  # as printed
    key = models.CharField(max_length=120, unique=True)  # normal form, see codes.serials
    pack_quantity = models.PositiveIntegerField(default=1)  # base units one scan stands for
    label_pattern = models.BooleanField(default=False)  # text is a pattern of a supplier's label
    symbology = models.CharField(max_length=20, blank=True)  # a pattern's; empty: in any symbol

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(pack_quantity__gte=1), name="a_pack_holds_something"
            )
        ]

    def __str__(self) -> str:
        return f"{self.text} = {self.pack_quantity} x {self.item.code}"


class Lot(models.Model):
    """A batch of an item; every item also has one nameless lot, so stock is always by lot."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="lots")
    number = models.CharField(max_length=90, blank=True)  # empty: the nameless lot
    key = models.CharField(max_length=90, blank=True)  # normal form of the number
    expires_on = models.DateField(null=True, blank=True)
    parent = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="pieces"
    )  # the reel a remnant was cut from, the batch an opened cartridge is of
    opened_on = models.DateField(null=True, blank=True)
    end_mark_m = models.PositiveIntegerField(null=True, blank=True)  # printed at a reel's far end

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "key"], name="one_lot_per_item_and_number")
        ]
        indexes = [models.Index(fields=["key"], name="lot_by_number")]  # scans

    def __str__(self) -> str:
        return f"{self.item.code} batch {self.number}" if self.number else self.item.code


class Evidence(models.TextChoices):
    """How we know a serial."""

    OWED = "owed", "serial owed"
    LISTED = "listed", "listed"
    BOX = "box", "on the box"
    SEEN = "seen", "seen"


class Unit(models.Model):
    """One thing with a serial. `place` stands beside the ledger and is rebuilt from it."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="units")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="units")
    serial = models.CharField(max_length=90)  # as it came
    serial_key = models.CharField(max_length=90)  # normal form: equality is decided on this
    revision = models.CharField(max_length=20, blank=True)
    made_on = models.DateField(null=True, blank=True)
    last_charged = models.DateField(null=True, blank=True)
    evidence = models.CharField(max_length=10, choices=Evidence.choices, default=Evidence.LISTED)
    provisional = models.BooleanField(default=False)  # scanned before anybody received it
    place = models.ForeignKey(
        "inventory.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="units"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item", "serial_key"], name="one_unit_per_item_and_serial"
            ),
            models.CheckConstraint(condition=~models.Q(serial_key=""), name="unit_has_a_serial"),
        ]
        indexes = [models.Index(fields=["serial_key"], name="unit_by_serial")]  # trace, scans

    def __str__(self) -> str:
        return f"{self.item.name} {self.serial}"


class UnitAlias(models.Model):
    """Another text that means this unit. A box label is never the unit's own serial."""

    class Kind(models.TextChoices):
        BOX = "box", "label on the box"
        OWN = "own", "our own label"
        REPORTED = "reported", "as the electronics show it"
        MAC = "mac", "network address"

    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="aliases")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    text = models.CharField(max_length=120)
    key = models.CharField(max_length=120, unique=True)

    def __str__(self) -> str:
        return f"{self.text} ({self.get_kind_display()})"
