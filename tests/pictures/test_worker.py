"""The decoding process limits itself and goes when nobody asks."""

import socket
import subprocess
import sys

from inventory.pictures import wire
from tests.tree import TOP


def started(idle: str) -> tuple[subprocess.Popen, socket.socket]:
    ours, theirs = socket.socketpair()
    command = [sys.executable, "-m", "inventory.pictures.worker"]
    command += ["tests.pictures.hostile_work:echo", str(theirs.fileno()), "1500000000", "5", idle]
    with theirs:
        process = subprocess.Popen(command, cwd=TOP, pass_fds=(theirs.fileno(),))
    return process, ours


def test_it_ends_when_left_alone() -> None:
    """After the idle time, with exit code 0."""
    process, line = started("0.3")
    with line:
        assert process.wait(10) == 0


def test_it_ends_when_the_server_is_gone() -> None:
    """No process is left behind by a server that was killed."""
    process, line = started("60")
    line.close()

    assert process.wait(10) == 0


def test_it_answers_over_the_line() -> None:
    """One question, one answer, "enough", and the end."""
    process, line = started("60")
    with line:
        line.settimeout(10)
        wire.send(line, {}, b"abc")
        head, blob = wire.receive(line)
        wire.send(line, {"more": False})
        end, _ = wire.receive(line)

    assert head["pid"] == process.pid
    assert blob == b"abc"
    assert end == {"end": True}
    assert process.wait(10) == 0
