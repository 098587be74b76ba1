"""The planting of faults tells a killed one from every way of not being killed."""

from pathlib import Path

import pytest

from tests.faults.run import FOLDER, read, run

PRODUCT = "def double(n):\n    return n + n\n"
TESTS = """from product import double


def test_doubles():
    assert double(3) == 6


def test_is_weak():
    assert double(2) == 4


def test_is_red_already():
    assert double(1) == 3
"""
INI = "[pytest]\npythonpath = .\naddopts = --disable-plugin-autoload\n"
FAULT = """fault: squares instead of doubling
test: tests/test_product.py::{test}
--- a/product.py
+++ b/product.py
@@ -1,2 +1,2 @@
 def double(n):
-    return {old}
+    return {new}
"""


def planted(folder: Path, test: str, old: str = "n + n", new: str = "n * n") -> tuple[bool, str]:
    """What becomes of one fault in a small tree of its own."""
    tree = folder / "tree"
    (tree / "tests").mkdir(parents=True)
    (tree / "product.py").write_text(PRODUCT)
    (tree / "tests" / "test_product.py").write_text(TESTS)
    (tree / "pytest.ini").write_text(INI)
    patch = folder / "01_square.patch"
    patch.write_text(FAULT.format(test=test, old=old, new=new))
    (outcome,) = run(tree, [patch])
    assert (tree / "product.py").read_text() == PRODUCT
    return outcome.killed, outcome.words


@pytest.mark.parametrize(
    ("test", "change", "killed", "words"),
    [
        ("test_doubles", {}, True, "killed"),
        ("test_is_weak", {}, False, "survived"),  # 2 + 2 is 2 * 2
        ("test_is_red_already", {}, False, "its test is not green without the fault"),
        ("test_is_gone", {}, False, "its test is not green without the fault"),
        ("test_doubles", {"old": "2 * n"}, False, "the patch no longer applies"),
        ("test_doubles", {"new": "(n"}, False, "its test did not run"),  # no Python any more
    ],
)
def test_only_a_red_test_kills(
    tmp_path: Path, test: str, change: dict[str, str], killed: bool, words: str
) -> None:
    """A weak test, one red or gone before, a stale patch and broken code do not count."""
    outcome = planted(tmp_path, test, **change)

    assert outcome[0] is killed
    assert outcome[1].startswith(words)


def test_a_patch_without_a_head_is_refused(tmp_path: Path) -> None:
    """Each patch says in words what it breaks and which test notices."""
    patch = tmp_path / "02_silent.patch"
    patch.write_text("--- a/product.py\n")

    with pytest.raises(ValueError, match=r"^02_silent\.patch: expected the lines 'fault: \.\.\.'"):
        read(patch)


def test_every_patch_of_the_project_names_a_test_that_is_there() -> None:
    """The file and the function exist, so that a renamed test is noticed before `make faults`."""
    for patch in sorted(FOLDER.glob("*.patch")):
        fault = read(patch)
        file, *names = fault.test.split("::")
        source = (FOLDER.parent.parent / file).read_text(encoding="utf-8")
        before, found, _ = source.partition(f"def {names[-1].split('[')[0]}(")

        assert found, patch.name
        # A test that is skipped on SQLite would pass with any fault.
        marks = before[before.rfind("\n\n") :]
        assert ("postgres_only" in marks) == fault.on_postgresql, patch.name
