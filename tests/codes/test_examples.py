"""The examples in the docstrings of inventory/codes are true."""

import doctest
import importlib
import pkgutil

import pytest

import inventory.codes

MODULES = [module.name for module in pkgutil.iter_modules(inventory.codes.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name):
    """Every example shown is what the module does."""
    found = doctest.testmod(importlib.import_module(f"inventory.codes.{name}"))

    assert found.failed == 0


def test_some_modules_show_examples():
    """Examples are there to be checked."""
    finder = doctest.DocTestFinder()
    modules = [importlib.import_module(f"inventory.codes.{name}") for name in MODULES]

    assert sum(len(t.examples) for m in modules for t in finder.find(m)) >= 9
