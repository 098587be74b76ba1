"""Who signs in, and who tries to."""

from django.db import models


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
