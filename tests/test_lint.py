"""The lint rules that this project leans on are switched on."""

import subprocess
import sys

import pytest

from tests.tree import TOP

MODEL = "from django.db import models\n\n\nclass A(models.Model):\n    "


@pytest.mark.parametrize(
    ("rule", "code"),
    [
        ("DJ001", f"{MODEL}a = models.CharField(null=True)\n"),
        ("DJ008", f"{MODEL}a = models.IntegerField()\n"),
        ("DJ012", f"{MODEL}def save(self):\n        pass\n\n    a = models.IntegerField()\n"),
        ("DTZ005", "import datetime\n\nprint(datetime.datetime.now())\n"),
        ("TID251", "from cv2 import barcode\n\nprint(barcode)\n"),
        ("TID252", "from . import x\n\nprint(x)\n"),
        ("TID251", "from django.utils.safestring import mark_safe\n\nprint(mark_safe)\n"),
        ("S307", "print(eval('1'))\n"),
        ("S308", "from django.utils.safestring import mark_safe\n\nprint(mark_safe(x))\n"),
        ("ANN201", "def f():\n    return 1\n"),
        ("PGH003", "x = 1  # type: ignore\n"),
    ],
)  # fmt: skip
def test_ruff_reports(rule: str, code: str) -> None:
    """Each row breaks one rule, and ruff says so."""
    command = [sys.executable, "-m", "ruff", "check", "--output-format=concise", "--no-cache"]
    report = subprocess.run(
        [*command, "--stdin-filename", "inventory/models/example.py", "-"],
        input=code,
        capture_output=True,
        text=True,
        cwd=TOP,
        check=False,
    )

    assert f" {rule} " in report.stdout
