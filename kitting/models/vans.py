"""What a van's papers say about it."""

from __future__ import annotations

from datetime import date

from django.db import models

from inventory.models import Person, Place


class VanFacts(models.Model):
    """Masses and measures of one van, copied from its papers by a person."""

    place = models.OneToOneField(Place, on_delete=models.PROTECT, related_name="van_facts")
    gross_kg = models.PositiveIntegerField()  # what it may weigh in all
    ready_kg = models.PositiveIntegerField()  # mass in running order
    with_driver = models.BooleanField(default=True)  # ready_kg holds a driver of 75 kg (EU papers)
    persons = models.PositiveSmallIntegerField(default=2)  # who rides, the driver counted
    fitted_kg = models.PositiveIntegerField(default=0)  # racks and standing tools
    wheelbase_mm = models.PositiveIntegerField(null=True, blank=True)
    load_at_mm = models.PositiveIntegerField(null=True, blank=True)  # front axle to mid load
    entered_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField(auto_now=True)

    class Meta:
        verbose_name = "van's papers"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(gross_kg__gt=models.F("ready_kg")),
                name="a_van_may_weigh_more_than_itself",
            ),
            models.CheckConstraint(
                condition=models.Q(persons__gte=1), name="somebody_drives_the_van"
            ),
        ]

    def __str__(self) -> str:
        return f"papers of {self.place.name}"


class VanOut(models.Model):
    """A van goes out of service, or is back; the latest row of a van counts."""

    van = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="out")
    first = models.DateField(null=True, blank=True)  # null: it is back in service
    last = models.DateField(null=True, blank=True)  # null with a first day: nobody knows yet
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last=None) | models.Q(last__gte=models.F("first")),
                name="a_van_is_out_forwards",
            )
        ]

    def __str__(self) -> str:
        return f"{self.van.code} out from {self.first}" if self.first else f"{self.van.code} back"

    def on(self, day: date) -> bool:
        """Whether the van is out of service that day, by this row."""
        return self.first is not None and self.first <= day and (not self.last or day <= self.last)
