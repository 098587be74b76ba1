"""What can be erased: photo files and free text. Events name them by hash or id only."""

from django.db import models

from inventory.ledger.ids import uuid7
from inventory.models.people import Person


class Photo(models.Model):
    """One photo, re-encoded without metadata; the file lies in the private media folder."""

    sha256 = models.CharField(max_length=64, unique=True)  # of the stored bytes, hex
    size = models.PositiveIntegerField()  # bytes
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="photos")
    subject = models.CharField(max_length=60, blank=True)  # "kit:<code>": who may see it
    stored_at = models.DateTimeField(auto_now_add=True)
    erased = models.BooleanField(default=False)

    def __str__(self) -> str:
        return self.sha256[:12]


class SentPhoto(models.Model):
    """What a phone calls a photo: the SHA-256 of the bytes as it sent them, not as they are kept.

    An event names its photo by it, before the photo has come; sent twice it is one photo.
    """

    sha256 = models.CharField(max_length=64, unique=True)  # hex
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, related_name="sent")

    def __str__(self) -> str:
        return self.sha256[:12]


class Note(models.Model):
    """Words of a person about an event."""

    uid = models.UUIDField(unique=True, default=uuid7)
    text = models.TextField(max_length=2000)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="notes")
    subject = models.CharField(max_length=60, blank=True)
    stored_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.text[:40]
