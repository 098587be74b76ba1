"""One way of counting is one file with one test file."""

from pathlib import Path

from kitting.plan import counting
from kitting.plan.ways import ways

TESTS = Path(__file__).parent / "counting"
FILES = {path.stem for path in Path(counting.__path__[0]).glob("*.py")} - {"__init__"}


def test_ways_are_found_by_walking():
    """Every file of the package is a way, and there is no register."""
    assert set(ways()) == FILES
    assert len(FILES) >= 10


def test_each_way_has_its_test_file():
    """A way without a test file of its name does not stand."""
    assert {path.stem for path in TESTS.glob("test_*.py")} == {f"test_{name}" for name in FILES}


def test_each_way_names_its_source():
    """The head of each way says where its rule comes from, or that it is common practice."""
    package = Path(counting.__path__[0])
    silent = [name for name in FILES if "Source:" not in (package / f"{name}.py").read_text()]

    assert silent == []
