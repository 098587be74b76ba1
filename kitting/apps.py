"""The upper house: what a job needs, packing, unboxing, fitting; and the site."""

from django.apps import AppConfig


class KittingConfig(AppConfig):
    name = "kitting"
    verbose_name = "Kits"
