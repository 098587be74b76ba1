"""The chromium that tests and pictures of pages use; nothing of Django."""

import shutil

import pytest

# The first without windows: it takes two thirds of the time of a core that the others take.
NAMES = ("chromium-headless-shell", "chromium", "chromium-browser")
FLAGS = [
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream",
]


def executable() -> str:
    """The machine's own chromium; Playwright's download is not used."""
    for name in NAMES:
        if found := shutil.which(name):
            return found
    pytest.fail("no chromium on this machine: `make setup` says how to get it")
