"""The examples in the docstrings of figures and what they stand on."""

import doctest
import importlib
import pkgutil

import pytest

from kitting.plan import figures

NAMES = [f"figures.{one.name}" for one in pkgutil.iter_modules(figures.__path__)]


@pytest.mark.parametrize("name", [*NAMES, "inputs", "figure", "counting.fit", "counting.volume"])
def test_examples_hold(name):
    """Every example of the module comes out as it is written."""
    assert doctest.testmod(importlib.import_module(f"kitting.plan.{name}")).failed == 0
