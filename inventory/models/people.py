"""People, what they may do, and the devices they scan with."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from inventory.ledger.ids import uuid7


class Role(models.TextChoices):
    """What a person may do; a person may hold several."""

    WAREHOUSE = "warehouse", "Warehouse"
    TECHNICIAN = "technician", "Technician"
    MANAGER = "manager", "Manager"


class People(BaseUserManager["Person"]):
    """Makes people; the password is hashed, never stored."""

    def create_user(
        self,
        username: str,
        password: str | None = None,
        *,
        name: str = "",
        roles: Iterable[str] = (),
    ) -> Person:
        """Store a person with the given roles; without a password nobody can sign in as them."""
        person = self.model(username=username, name=name or username, roles=sorted(set(roles)))
        person.set_password(password)
        person.full_clean(exclude=["password"])
        person.save(using=self._db)
        return person

    def create_superuser(self, username: str, password: str | None = None, *, name: str) -> Person:
        """Store somebody who may do everything: how an empty firm gets its first person.

        Django's command `createsuperuser` asks for name and password, judges both, and calls this.
        """
        return self.create_user(username, password, name=name, roles=Role.values)


class Person(AbstractBaseUser):
    """Somebody who works here; one who has left keeps the row and loses the way in."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    username = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    roles = models.JSONField(default=list, blank=True)  # sorted list of Role values
    is_active = models.BooleanField(default=True)
    phone = models.CharField(max_length=40, blank=True)  # where a recall reaches them; erasable

    objects = People()

    USERNAME_FIELD = "username"
    EMAIL_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~models.Q(username=""), name="person_has_a_username")
        ]

    def __str__(self) -> str:
        return self.name

    def has(self, *roles: str) -> bool:
        """Whether the person is active and holds one of these roles."""
        return self.is_active and any(role in self.roles for role in roles)


class Device(models.Model):
    """A phone, bench computer or server that numbers the events it sends, from 1 up."""

    uid = models.UUIDField(unique=True, default=uuid7, editable=False)
    label = models.CharField(max_length=120, blank=True)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="devices")
    registered_at = models.DateTimeField(auto_now_add=True)
    high_water = models.PositiveBigIntegerField(default=0)  # highest sequence number seen

    def __str__(self) -> str:
        return self.label or str(self.uid)


class DeviceGap(models.Model):
    """Sequence numbers below the high water that never came: first .. last, both included."""

    device = models.ForeignKey(Device, on_delete=models.CASCADE, related_name="gaps")
    first = models.PositiveBigIntegerField()
    last = models.PositiveBigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last__gte=models.F("first")), name="gap_is_not_empty"
            )
        ]

    def __str__(self) -> str:
        return f"{self.device}: {self.first}..{self.last}"
