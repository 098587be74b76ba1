"""Our own server for the length of the walk: gunicorn on a free port, with these very settings."""

from __future__ import annotations

import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

from django.conf import settings

LISTEN = 64  # connections that may wait while the server starts


@contextmanager
def serving() -> Iterator[int]:
    """Serve the database of this process; yields the port on 127.0.0.1.

    The socket listens before the server starts, so nobody has to wait for it or race for the port.
    """
    with ExitStack() as doors:
        door = doors.enter_context(socket.socket())
        door.bind(("127.0.0.1", 0))
        door.listen(LISTEN)
        command = [
            *(sys.executable, "-m", "gunicorn", "kitting.wsgi"),
            *("--bind", f"fd://{door.fileno()}", "--worker-class", "gthread"),
            *("--workers", "1", "--threads", "4", "--log-level", "warning"),
            "--no-control-socket",
        ]
        # What the server says (a page that is not there, say) is told only where the walk fails.
        said = doors.enter_context(tempfile.TemporaryFile("w+"))
        server = subprocess.Popen(  # noqa: S603  # our own program, nothing from outside in it
            command, cwd=settings.BASE_DIR, pass_fds=[door.fileno()], stderr=said
        )
        try:
            yield door.getsockname()[1]
        except BaseException:
            said.seek(0)
            sys.stderr.write(said.read())
            raise
        finally:
            server.terminate()
            server.wait(timeout=30)
