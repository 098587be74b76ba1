"""A line with bad signal: a TCP relay that cuts answers after the server has given them."""

from __future__ import annotations

import socket
import struct
import threading
from collections.abc import Callable

PIECE = 65_536  # bytes
CUT, DROP = 3, 5  # every third answer is cut, every fifth request never reaches the server
AT_ONCE = struct.pack("ii", 1, 0)  # SO_LINGER: a close that resets the connection


class Relay:
    """Stands between browsers and a server on 127.0.0.1; what it does to a message it counts.

    While it is not `there` nothing passes. While it is `bad`, what a phone's queue sends is hurt,
    POSTs below /api/.
    `after` is called with the count so far when the server has answered such a POST, before
    anything of the answer is passed on.
    """

    def __init__(self, to: int) -> None:
        self.to, self.there, self.bad = to, True, False
        self.answers = self.cut = self.requests = self.dropped = 0
        self.after: Callable[[int], None] = lambda count: None
        self._counting = threading.Lock()
        self._ear = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.port = self._ear.getsockname()[1]
        threading.Thread(target=self._listen, daemon=True).start()

    def close(self) -> None:
        self._ear.close()

    def _listen(self) -> None:
        while True:
            try:
                phone, _ = self._ear.accept()
            except OSError:
                return
            threading.Thread(target=self._carry, args=(phone,), daemon=True).start()

    def _carry(self, phone: socket.socket) -> None:
        """One request and its answer; then the connection is over."""
        with phone:
            phone.settimeout(60)
            try:
                request = _request(phone)
                if request:
                    self._one(phone, request)
            except OSError:
                return

    def _one(self, phone: socket.socket, request: bytes) -> None:
        if not self.there:
            _reset(phone)
            return
        hurts = request.startswith(b"POST /api/") and self.bad
        if hurts and self._drops():
            _reset(phone)
            return
        answer = self._answer(request)
        if hurts and self._cuts():
            _reset(phone)
        else:
            phone.sendall(answer)

    def _answer(self, request: bytes) -> bytes:
        head, _, body = request.partition(b"\r\n\r\n")
        lines = [
            line for line in head.split(b"\r\n") if not line.lower().startswith(b"connection:")
        ]
        with socket.create_connection(("127.0.0.1", self.to), timeout=60) as server:
            server.sendall(b"\r\n".join([*lines, b"Connection: close"]) + b"\r\n\r\n" + body)
            return b"".join(iter(lambda: server.recv(PIECE), b""))

    def _drops(self) -> bool:
        with self._counting:
            self.requests += 1
            drops = self.requests % DROP == 0
            self.dropped += drops
        return drops

    def _cuts(self) -> bool:
        with self._counting:
            self.answers += 1
            count, cuts = self.answers, self.answers % CUT == 0
            self.cut += cuts
        self.after(count)
        return cuts


def _request(phone: socket.socket) -> bytes:
    """A whole request, b"" of a connection that is closed without one."""
    came = b""
    while b"\r\n\r\n" not in came:
        piece = phone.recv(PIECE)
        if not piece:
            return b""
        came += piece
    head = came.partition(b"\r\n\r\n")[0]
    sizes = [
        int(line.partition(b":")[2])
        for line in head.split(b"\r\n")
        if line.lower().startswith(b"content-length:")
    ]
    whole = len(head) + 4 + sum(sizes)
    while len(came) < whole:
        came += phone.recv(PIECE)
    return came


def _reset(phone: socket.socket) -> None:
    phone.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, AT_ONCE)
