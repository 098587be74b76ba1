"""A process of its own for the decoders, with limits, because a crafted photo can end a process.

libzbar ends it by double free and assertion (pyzbar issues 83 and 158), zxing-cpp 2.0 looped for
ever (issue 525), OpenCV ran ten minutes (issue 26642): none of that may reach the server. The
process is kept for the next photo, so it costs its start only once, and goes when left alone.
"""

import contextlib
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.pictures import wire
from inventory.pictures.errors import ChildDied

TOP = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True)
class Limits:
    """What the process may use for one photo."""

    memory: int = 1_500_000_000  # bytes of address space, libraries included
    cpu: int = 18  # seconds of processor time; sixty labels under hard blur take up to 14
    wall: float = 40.0  # seconds by the clock, waiting included
    idle: float = 300.0  # seconds without a photo, then it ends itself


class Child:
    """One decoding process, started when first asked, one photo at a time."""

    def __init__(self, target: str, limits: Limits | None = None) -> None:
        """target: `module:function`, see inventory.pictures.worker."""
        self.target = target
        self.limits = limits or Limits()
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._line: socket.socket | None = None
        self._owner = 0  # process id of the server process that started it

    def ask(
        self, head: dict[str, Any], blob: bytes, more: Callable[[dict[str, Any], bytes], bool]
    ) -> None:
        """Hand over one photo; `more` gets each answer and says whether to go on.

        Raises ChildDied; the next question starts a new process.
        """
        with self._lock:
            line = self._started()
            deadline = time.monotonic() + self.limits.wall
            try:
                self._converse(line, deadline, head, blob, more)
            except TimeoutError as fault:
                self._end()
                raise ChildDied(f"no answer within {self.limits.wall:g} seconds") from fault
            except (EOFError, OSError, ValueError) as fault:
                raise ChildDied(f"the decoding process ended ({self._end()})") from fault
            except BaseException:
                self._end()  # half a conversation must not be taken for the next one's answer
                raise

    def close(self) -> None:
        """End the process."""
        with self._lock:
            self._end()

    def _converse(
        self,
        line: socket.socket,
        deadline: float,
        head: dict[str, Any],
        blob: bytes,
        more: Callable[[dict[str, Any], bytes], bool],
    ) -> None:
        def patience() -> None:
            line.settimeout(max(deadline - time.monotonic(), 0.001))

        patience()
        wire.send(line, head, blob)
        while True:
            patience()
            answer, piece = wire.receive(line)
            if answer.get("end"):
                return
            wire.send(line, {"more": more(answer, piece)})

    def _started(self) -> socket.socket:
        # After a fork the process belongs to the parent: two askers on one line would mix answers.
        if self._line is not None and self._owner != os.getpid():
            self._line.close()
            self._line = self._process = None
        if self._line is None or self._process is None or self._process.poll() is not None:
            self._end()
            self._line, theirs = socket.socketpair()
            numbers = (theirs.fileno(), self.limits.memory, self.limits.cpu, self.limits.idle)
            with theirs:
                self._process = subprocess.Popen(  # noqa: S603 - our own module, no shell
                    [sys.executable, "-m", "inventory.pictures.worker", self.target]
                    + [str(number) for number in numbers],
                    cwd=TOP,
                    # None of the server's secrets; one thread, since each keeps memory of its own.
                    env={"PYTHONPATH": str(TOP), "OPENBLAS_NUM_THREADS": "1"},
                    pass_fds=(theirs.fileno(),),
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,  # libzbar writes warnings there
                )
            self._owner = os.getpid()
        return self._line

    def _end(self) -> str:
        """Kill and forget the process; how it ended, in words."""
        process, line = self._process, self._line
        self._process = self._line = None
        if line is not None:
            line.close()
        if process is None:
            return "not running"
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(0.2)
        process.kill()
        code = process.wait()
        return f"signal {-code}" if code < 0 else f"exit {code}"
