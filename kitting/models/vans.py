"""What a van's papers say about it."""

from __future__ import annotations

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
