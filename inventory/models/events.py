"""Events and what they caused. Every table here is append-only: see guard.py."""

from django.db import models

from inventory.models.people import Device, Person
from inventory.models.places import Place
from inventory.models.things import Item, Lot, Unit


class Event(models.Model):
    """The only thing that arrives, kept as the exact text line that came."""

    number = models.PositiveBigIntegerField(unique=True)  # ledger number, given under the lock
    uid = models.UUIDField(unique=True)  # made by the client
    line = models.TextField()  # the bytes that came, as UTF-8 text
    sha256 = models.CharField(max_length=64)  # of those bytes, hex
    step = models.CharField(max_length=20)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="events")
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="events")
    seq = models.PositiveBigIntegerField()  # the device's own number
    device_time = models.DateTimeField()  # shown, never decides
    received_at = models.DateTimeField()
    subject = models.CharField(max_length=60, blank=True)  # opaque here: "kit:<code>"

    class Meta:
        indexes = [
            models.Index(fields=["device", "seq"], name="event_by_device_and_seq"),  # resending
            models.Index(fields=["subject", "number"], name="event_by_subject"),  # a kit's story
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.step}"


class Outcome(models.Model):
    """What the server decided about an event; the latest counts."""

    number = models.PositiveBigIntegerField(unique=True)
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="outcomes")
    verdict = models.CharField(max_length=10)
    line = models.TextField()  # canonical JSON of event, verdict and sentence: what is hashed
    sentence = models.TextField()

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["verdict"], name="outcome_by_verdict")]  # who waits

    def __str__(self) -> str:
        return self.sentence


class Scan(models.Model):
    """What was scanned or typed in an event and what it was taken for."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="scan")
    text = models.CharField(max_length=500)
    via = models.CharField(max_length=10)
    read_as = models.CharField(max_length=12)  # the kind of scanning.Thing
    unit = models.ForeignKey(Unit, null=True, on_delete=models.PROTECT, related_name="scans")
    item = models.ForeignKey(Item, null=True, on_delete=models.PROTECT, related_name="scans")
    place = models.ForeignKey(Place, null=True, on_delete=models.PROTECT, related_name="scans")

    class Meta:
        indexes = [models.Index(fields=["text"], name="scan_by_text")]  # trace of an unknown code

    def __str__(self) -> str:
        return f"{self.text} read as {self.read_as}"


class Held(models.Model):
    """Whose hands held the scanner: the badge in an event's line, to be found by person."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="held")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="held")

    def __str__(self) -> str:
        return f"{self.event} by the hands of {self.person}"


class Movement(models.Model):
    """Leaves one place and enters another, whole or not at all."""

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="movements")
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="movements"
    )
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="movements", db_index=False)
    from_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="moves_out")
    to_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="moves_in")
    quantity = models.PositiveBigIntegerField()  # base units of the item

    class Meta:
        # The newest of a lot with millions of rows, without reading the others.
        indexes = [models.Index(fields=["lot", "id"], name="movement_by_lot")]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(from_place=models.F("to_place")),
                name="a_movement_goes_elsewhere",
            ),
            models.CheckConstraint(condition=models.Q(quantity__gte=1), name="a_movement_moves"),
            models.CheckConstraint(
                condition=models.Q(unit__isnull=True) | models.Q(quantity=1),
                name="a_unit_moves_alone",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.unit or self.lot}: {self.from_place} to {self.to_place}"


class ContainerMove(models.Model):
    """A box, parcel or bag with everything in it goes to stand somewhere else."""

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="container_moves")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="container_moves")
    from_parent = models.ForeignKey(
        Place, null=True, on_delete=models.PROTECT, related_name="containers_out"
    )
    to_parent = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="containers_in")

    def __str__(self) -> str:
        return f"{self.place} to {self.to_parent}"


class Hold(models.Model):
    """A condition, not a place: exactly one of unit, lot and place is set aside."""

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="holds")
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="holds"
    )
    lot = models.ForeignKey(
        Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="holds"
    )
    place = models.ForeignKey(
        Place, null=True, blank=True, on_delete=models.PROTECT, related_name="holds"
    )
    reason = models.CharField(max_length=200)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(unit__isnull=False, lot__isnull=True, place__isnull=True)
                | models.Q(unit__isnull=True, lot__isnull=False, place__isnull=True)
                | models.Q(unit__isnull=True, lot__isnull=True, place__isnull=False),
                name="a_hold_is_on_one_thing",
            )
        ]

    def __str__(self) -> str:
        return f"{self.unit or self.lot or self.place} set aside: {self.reason}"


class HoldRelease(models.Model):
    """Ends a hold."""

    hold = models.OneToOneField(Hold, on_delete=models.PROTECT, related_name="release")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="hold_releases")

    def __str__(self) -> str:
        return f"{self.hold} ended"


class Finding(models.Model):
    """A problem that an event showed; open until somebody answers it."""

    class Kind(models.TextChoices):
        MISSING = "missing", "missing"
        DAMAGED = "damaged", "damaged"
        WRONG = "wrong", "wrong one"
        SURPLUS = "surplus", "one too many"
        CLASH = "clash", "claimed twice"
        UNKNOWN = "unknown", "not known"
        CODE = "code", "unknown code"
        COUNT = "count", "count this bin"
        SKIPPED = "skipped", "a step was not scanned"
        REFILL = "refill", "refill this bin"
        REFUSED = "refused", "refused at the door"
        DEVICE = "device", "a device's numbers repeat"
        BOX = "box", "a box holds something else"
        NOT_DONE = "not done", "not done"

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="findings")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="findings"
    )
    item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="findings"
    )
    place = models.ForeignKey(
        Place, null=True, blank=True, on_delete=models.PROTECT, related_name="findings"
    )
    quantity = models.PositiveBigIntegerField(default=1)  # base units concerned
    subject = models.CharField(max_length=60, blank=True)
    photo = models.CharField(max_length=64, blank=True)  # sha256 of a Photo
    note = models.UUIDField(null=True, blank=True)  # uid of a Note
    words = models.CharField(max_length=300)  # what a person reads

    class Meta:
        indexes = [
            models.Index(fields=["subject"], name="finding_by_subject"),
            models.Index(
                fields=["kind"],
                condition=models.Q(unit=None, item=None),
                name="finding_of_a_code",  # each thing that comes may be what one asks about
            ),
        ]

    def __str__(self) -> str:
        return self.words


class FindingAnswer(models.Model):
    """What was done about a finding; the event is the act that settled it."""

    finding = models.OneToOneField(Finding, on_delete=models.PROTECT, related_name="answer")
    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="answers")
    words = models.CharField(max_length=300)

    def __str__(self) -> str:
        return self.words


class Reversal(models.Model):
    """This event undoes that one; an event is undone at most once."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="reversal")
    reversed = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="reversed_by")

    def __str__(self) -> str:
        return f"{self.event} undoes {self.reversed}"


class RecordMark(models.Model):
    """Head of the Merkle tree (RFC 9162) after the entries up to `size`, one row a transaction."""

    size = models.PositiveBigIntegerField(unique=True)  # entries covered: events and outcomes
    root = models.CharField(max_length=64)  # hex
    peaks = models.JSONField()  # roots of the perfect subtrees, largest first, hex

    def __str__(self) -> str:
        return f"{self.size} {self.root[:16]}"
