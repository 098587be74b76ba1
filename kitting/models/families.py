"""Editions of families: dated, never changed once stored."""

from typing import Any

from django.db import models

from inventory.models import Person


class FamilyEdition(models.Model):
    """A family's text as it was on its date; a change is a new edition."""

    name = models.CharField(max_length=40)
    edition = models.DateField()
    status = models.CharField(max_length=10)  # released or trial
    text = models.TextField()  # the TOML as it came
    sha256 = models.CharField(max_length=64, unique=True)  # of the text as UTF-8, hex
    loaded_at = models.DateTimeField(auto_now_add=True)
    # Kits come from the edition with the latest one; null: loaded, not in use yet.
    current_from = models.DateTimeField(null=True, blank=True)
    made_current_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )  # null with current_from: the first edition of its family

    class Meta:
        ordering = ["name", "-edition"]
        constraints = [
            models.UniqueConstraint(fields=["name", "edition"], name="one_text_per_edition"),
            models.CheckConstraint(
                condition=models.Q(status__in=("released", "trial")), name="an_edition_has_a_status"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.edition}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Store a new edition. A stored one never changes: raises ValueError."""
        if self.pk:
            raise ValueError(f"{self} is stored and stays as it is")
        super().save(*args, **kwargs)
