"""What runs inside the decoding process: one photo after another until the line closes.

Started by inventory.pictures.child as
`python -m inventory.pictures.worker MODULE:FUNCTION FD MEMORY CPU IDLE`.
The function gets (head, bytes) and yields (head, bytes) answers.
"""

import resource
import socket
import sys
import time
from collections.abc import Callable, Iterator
from importlib import import_module
from typing import Any

from inventory.pictures import wire

Work = Callable[[dict[str, Any], bytes], Iterator[tuple[dict[str, Any], bytes]]]


def main(target: str, fd: str, memory: str, cpu: str, idle: str) -> None:
    """Serve the line until it closes or stays silent for `idle` seconds."""
    resource.setrlimit(resource.RLIMIT_AS, (int(memory), int(memory)))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))  # no photo is left on the disk by a crash
    module, _, name = target.partition(":")
    work: Work = getattr(import_module(module), name)
    with socket.socket(fileno=int(fd)) as line:
        while True:
            line.settimeout(float(idle))
            try:
                head, blob = wire.receive(line)
            except (EOFError, TimeoutError):
                return
            line.settimeout(None)
            # The limit counts from the start of the process, so each photo moves it on.
            soft = int(time.process_time()) + int(cpu) + 1
            resource.setrlimit(resource.RLIMIT_CPU, (soft, resource.RLIM_INFINITY))
            for answer, piece in work(head, blob):
                wire.send(line, answer, piece)
                if not wire.receive(line)[0]["more"]:
                    break
            wire.send(line, {"end": True})


if __name__ == "__main__":
    main(*sys.argv[1:])
