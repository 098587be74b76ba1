"""The lower house: what we have, where it is, each serial's chain."""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"
    verbose_name = "Stock"
