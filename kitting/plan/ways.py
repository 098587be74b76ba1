"""Finds the ways of counting by walking the package `counting`: one file each, no register."""

import importlib
import pkgutil
from collections.abc import Callable
from functools import cache

from kitting.plan import counting
from kitting.plan.given import Book, Counting
from kitting.plan.reading import Table

Parse = Callable[[Table, Book], Counting]


@cache
def ways() -> dict[str, Parse]:
    """Name of the way -> its parse.

    >>> sorted(ways())[:3]
    ['allowed_sets', 'area', 'built_in']
    """
    found = {}
    for module in pkgutil.iter_modules(counting.__path__):
        loaded = importlib.import_module(f"{counting.__name__}.{module.name}")
        found[module.name] = loaded.parse
    return found
