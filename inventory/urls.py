"""Addresses of the lower house: stock, scanning, labels, and the event intake."""

from django.urls import URLPattern, URLResolver

urlpatterns: list[URLPattern | URLResolver] = []
