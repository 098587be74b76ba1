"""What is done at the desk and is no event: figures that people change, forms that acted."""

from django.db import models

from inventory.models.people import Person


class Amendment(models.Model):
    """One figure a person changed: what it was and what it is. Only grows."""

    about = models.CharField(
        max_length=200
    )  # "charge rule:<item>:<degrees>", "warmth:<place>", "item:<code>"
    was = models.JSONField()  # empty: nothing was said before
    now = models.JSONField()
    by = models.ForeignKey(
        Person, null=True, on_delete=models.PROTECT, related_name="amendments"
    )  # null: a command set it up
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["about"], name="amendment_by_about")]

    def __str__(self) -> str:
        return f"{self.about}: {self.was} -> {self.now}"


class SentForm(models.Model):
    """A form that did what it asked for; sent again it does nothing more."""

    uid = models.UUIDField(unique=True)  # came with the page
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="sent_forms")
    sha256 = models.CharField(
        max_length=64
    )  # of address, fields and files, with the site's secret; hex
    led_to = models.CharField(max_length=500)  # address of the page that was shown then
    at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return str(self.uid)
