"""A printer that speaks IPP: CUPS' own `ippeveprinter` on a port of this machine.

It announces itself over a message bus; it gets one of its own, so that no service of the machine is
touched. Where either program is missing, the tests that need it are skipped in words.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

NEEDED = {"ipptool": "cups-ipp-utils", "ippeveprinter": "cups-ipp-utils", "dbus-daemon": "dbus"}
PATIENCE = 10  # seconds until a program is there


@dataclass(frozen=True, slots=True)
class Peer:
    """The printer's address and where it puts what came."""

    address: str
    spool: Path

    def files(self) -> list[bytes]:
        return [path.read_bytes() for path in sorted(self.spool.glob("*.pdf"))]


def where(name: str) -> str:
    """The path of a program; people's own PATH may lack what only root runs."""
    found = shutil.which(name) or shutil.which(name, path="/usr/sbin:/usr/local/sbin")
    if found is None:
        pytest.skip(f"{name} is missing: install {NEEDED[name]} to test printing over IPP")
    return found


@contextmanager
def printer(command: str = "/bin/true") -> Iterator[Peer]:
    """A printer that takes PDF and keeps it; command: a program that each job is given to.

    Without one it would wait some seconds a job, as a motor does.
    """
    bus_program, program, _ = (where(n) for n in ("dbus-daemon", "ippeveprinter", "ipptool"))
    with TemporaryDirectory() as name, ExitStack() as running:
        folder = Path(name)
        spool, bus = folder / "spool", folder / "bus"
        spool.mkdir()
        begin(running, [bus_program, "--session", "--nofork", f"--address=unix:path={bus}"])
        start(bus.exists)
        port = free_port()
        line = [program, "-p", str(port), "-r", "off", "-n", "localhost", "-f", "application/pdf"]
        line += ["-k", "-d", str(spool), "-c", command, "Bench"]
        begin(running, line, DBUS_SYSTEM_BUS_ADDRESS=f"unix:path={bus}")
        start(lambda: answers(port))
        yield Peer(f"ipp://localhost:{port}/ipp/print", spool)


def begin(running: ExitStack, line: list[str], **more: str) -> None:
    """Start a program that ends with the stack."""
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    process = subprocess.Popen(line, env={**os.environ, **more}, **quiet)
    running.callback(process.wait, 10)
    running.callback(process.terminate)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def answers(port: int) -> bool:
    with socket.socket() as knock:
        return knock.connect_ex(("127.0.0.1", port)) == 0


def start(there: Callable[[], bool]) -> None:
    """Until a program is there; on a machine where it never is, the test is skipped."""
    if not within(there):
        pytest.skip("the printer to test against does not start here")


def within(there: Callable[[], bool]) -> bool:
    """Whether something comes to be within PATIENCE."""
    end = time.monotonic() + PATIENCE
    while not there():
        if time.monotonic() > end:
            return False
        time.sleep(0.02)
    return True
