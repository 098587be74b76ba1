"""Where the live camera's decoder lies, if it is installed."""

from django import template
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.templatetags.static import static

register = template.Library()

FILES = {
    "worker": "inventory/decoder/decoding.js",
    # These two come from npm by `make setup` (inventory/camera) and are no part of this tree.
    "reader": "inventory/decoder/reader.js",
    "wasm": "inventory/decoder/zxing_reader.wasm",
}


@register.simple_tag
def decoder() -> dict[str, str]:
    """Addresses of worker, reader and wasm; empty where node was missing when it was set up."""
    if not all(_is_there(name) for name in FILES.values()):
        return {}
    return {word: static(name) for word, name in FILES.items()}


def _is_there(name: str) -> bool:
    """Among the collected files; before the first collection, in the app's folder."""
    collected: dict[str, str] = getattr(staticfiles_storage, "hashed_files", {})
    return name in collected if collected else finders.find(name) is not None
