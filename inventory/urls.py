"""Addresses of the lower house: stock, scanning, labels, and the event intake."""

from django.urls import URLPattern, URLResolver, path

from inventory import api

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/events", api.api_events, name="api_events"),
    path("api/devices", api.api_devices, name="api_devices"),
    path("api/photos", api.api_photos, name="api_photos"),
    path("api/notes", api.api_notes, name="api_notes"),
    path("api/read", api.api_read, name="api_read"),
]
