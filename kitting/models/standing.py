"""What stands at a site; it outlives the job. What stands is rebuilt from the events by
as_built.refold."""

from django.db import models

from inventory.models import Event, Item, Person, Place, Unit
from kitting.models.families import FamilyEdition
from kitting.models.jobs import Site
from kitting.models.kits import Kit


class AsBuilt(models.Model):
    """One unit stands, or stood, at one position of a site; one nobody has seen by its kind."""

    site = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="as_built")
    stack = models.PositiveSmallIntegerField()  # 1 = first
    level = models.PositiveSmallIntegerField()  # 1 = lowest or nearest the wall
    role = models.CharField(max_length=10)  # unit (a module), head, base, cap: see plan.layout
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="positions"
    )
    item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="positions"
    )  # what kind stands there, where nobody has seen the unit
    number = models.PositiveIntegerField(null=True, blank=True)  # shown on screen, not the level
    firmware = models.CharField(max_length=60, blank=True)  # as read at commissioning
    fitted_on = models.DateField(null=True, blank=True)  # where only a file says so
    since = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="put_up")
    until = models.ForeignKey(
        Event, null=True, blank=True, on_delete=models.PROTECT, related_name="taken_down"
    )

    class Meta:
        ordering = ["site", "stack", "level", "since"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "stack", "level"],
                condition=models.Q(until=None),
                name="one_unit_per_position",
            ),
            models.UniqueConstraint(
                fields=["unit"], condition=models.Q(until=None), name="a_unit_stands_once"
            ),
            models.CheckConstraint(
                condition=models.Q(unit=None) ^ models.Q(item=None), name="a_unit_or_its_kind"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what} at {self.stack}/{self.level}"

    @property
    def found_there(self) -> bool:
        """Whether it stood there before the record knew of it: its event is not its fitting."""
        return self.since.step in ("bring_in", "find_standing")

    @property
    def what(self) -> str:
        """The unit, or its kind where nobody has seen it."""
        return str(self.unit) if self.unit else f"{self.kind_of.name}, not seen"

    @property
    def kind_of(self) -> Item:
        """What kind of thing stands there."""
        found = self.unit.item if self.unit else self.item
        assert found is not None, "a row has a unit or a kind"
        return found

    @property
    def serial(self) -> str:
        """Its serial, empty where nobody has seen it."""
        return self.unit.serial if self.unit else ""

    @property
    def revision(self) -> str:
        """Its revision, empty where it is not known."""
        return self.unit.revision if self.unit else ""


class Installed(models.Model):
    """What stood at a position before the record began, as a file says. Only grows."""

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="installed")
    site = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="installed")
    stack = models.PositiveSmallIntegerField()  # 1 = first
    level = models.PositiveSmallIntegerField()  # 1 = lowest or nearest the wall
    role = models.CharField(max_length=10)  # as of AsBuilt
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="installed"
    )
    item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="installed"
    )  # its kind, where nobody knows the serial
    batch = models.CharField(max_length=90, blank=True)  # as printed; empty: not known
    made_on = models.DateField(null=True, blank=True)  # None: not known
    fitted_on = models.DateField(null=True, blank=True)  # None: not known
    number = models.PositiveIntegerField(null=True, blank=True)  # shown on screen
    firmware = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(unit=None) ^ models.Q(item=None), name="installed_unit_or_kind"
            )
        ]

    def __str__(self) -> str:
        return f"{self.unit or self.item} at {self.stack}/{self.level}"


class Survey(models.Model):
    """A stack fitted by others, described once; its units are entered by events. Only grows."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="surveys")
    edition = models.ForeignKey(FamilyEdition, on_delete=models.PROTECT, related_name="surveys")
    configuration = models.JSONField()  # of a new stack: see kitting/plan/README.md
    positions = models.JSONField()  # places for units as Kit.snapshot has them
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["site", "pk"]

    def __str__(self) -> str:
        return f"{self.edition.name} found at {self.site}"


class ChargeReading(models.Model):
    """The charge that one unit showed, as an event says. Only grows."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="charge_reading")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="charge_readings")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="charge_readings")
    stack = models.PositiveSmallIntegerField()  # stack that it stands in or joins
    percent = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(percent__lte=100), name="a_charge_is_at_most_full"
            )
        ]

    def __str__(self) -> str:
        return f"{self.unit}: {self.percent} %"


class ScreenReading(models.Model):
    """One thing as the electronics show it, as an event says. Only grows."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="screen_reading")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="screen_readings")
    unit = models.ForeignKey(
        Unit, null=True, blank=True, on_delete=models.PROTECT, related_name="screen_readings"
    )  # None: nothing that was scanned into this site ends so
    ends = models.CharField(max_length=8, blank=True)  # last characters, empty: seen otherwise
    number = models.PositiveIntegerField(null=True, blank=True)
    firmware = models.CharField(max_length=60, blank=True)
    photo = models.CharField(max_length=64, blank=True)  # of the screen: sha256 of a Photo

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(unit__isnull=False) | ~models.Q(ends=""),
                name="a_screen_shows_something",
            )
        ]

    def __str__(self) -> str:
        return f"{self.unit or self.ends} as number {self.number}"


class BusReading(models.Model):
    """The ohms between the two wires of a data line, as an event says. Only grows."""

    event = models.OneToOneField(Event, on_delete=models.PROTECT, related_name="bus_reading")
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="bus_readings")
    bus = models.CharField(max_length=60)  # as the parts list calls it, with the stack's number
    ohm = models.PositiveIntegerField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.bus}: {self.ohm} ohm"
