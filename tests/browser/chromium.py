"""The chromium that tests and pictures of pages use; nothing of Django."""

import shutil

import pytest

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
    for name in ("chromium", "chromium-browser"):
        if found := shutil.which(name):
            return found
    pytest.fail("no chromium on this machine: `make setup` says how to get it")
