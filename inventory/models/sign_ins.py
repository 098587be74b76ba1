"""Who signs in, and who tries to."""

from __future__ import annotations

from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.base_session import AbstractBaseSession
from django.db import models

from inventory.models.people import Device, Person


class SignIn(AbstractBaseSession):
    """One browser that somebody is signed in on; its key is the browser's secret.

    The columns are copied from what the session holds, see inventory/signing_in.py.
    """

    person = models.ForeignKey(
        Person, null=True, on_delete=models.CASCADE, related_name="sign_ins"
    )  # null: nobody yet
    since = models.DateTimeField()
    handheld = models.BooleanField(default=False)  # whether the browser says it is a phone's
    device = models.ForeignKey(
        Device, null=True, on_delete=models.SET_NULL, related_name="sign_ins"
    )  # null: nothing was scanned there

    @classmethod
    def get_session_store_class(cls) -> type[SessionBase]:
        """Return the store, as Django wants it."""
        from inventory.signing_in import SessionStore  # it needs the tables first

        return SessionStore


class WrongPassword(models.Model):
    """A password that did not open, or is being looked at; gone once it no longer counts.

    Neither the name nor the address stands here, only hashes of them with the site's secret:
    into the field of the name people type passwords, too.
    """

    who = models.CharField(max_length=64, db_index=True)  # of name and address together, hex
    where = models.CharField(max_length=64, db_index=True)  # of the address, hex
    at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{self.who[:8]} {self.at}"


class SecondFactor(models.Model):
    """What somebody signs in with beside the password: what it is made of, not the secret itself.

    See inventory/second_factor.py.
    """

    person = models.OneToOneField(Person, on_delete=models.CASCADE, related_name="second_factor")
    drawn = models.CharField(max_length=40)  # random, hex
    since = models.DateTimeField()
    latest = models.BigIntegerField()  # step of the latest one that was accepted

    def __str__(self) -> str:
        return f"{self.person_id} since {self.since}"


class RecoveryCode(models.Model):
    """A way in for whom the phone with the codes is lost: works once, then the row is gone."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="recovery_codes")
    sha256 = models.CharField(max_length=64)  # hex; of 80 random bits, so no guess finds it

    def __str__(self) -> str:
        return self.sha256[:8]
