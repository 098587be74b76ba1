"""Messages between the server and its decoding process: a JSON head, then bytes."""

import json
import socket
import struct
from typing import Any

MOST_HEAD = 4_000_000  # bytes; a photo holds nowhere near so much text
_SIZES = struct.Struct(">II")


def send(line: socket.socket, head: dict[str, Any], blob: bytes = b"") -> None:
    """Send one message. Raises OSError (TimeoutError included)."""
    packed = json.dumps(head).encode()
    line.sendall(_SIZES.pack(len(packed), len(blob)) + packed + blob)


def receive(line: socket.socket) -> tuple[dict[str, Any], bytes]:
    """The next message. Raises EOFError where the other side is gone, OSError."""
    head_size, blob_size = _SIZES.unpack(_exactly(line, _SIZES.size))
    if head_size > MOST_HEAD:
        raise EOFError(f"expected a head of at most {MOST_HEAD} bytes, got {head_size}")
    head = json.loads(_exactly(line, head_size))
    return head, _exactly(line, blob_size)


def _exactly(line: socket.socket, size: int) -> bytes:
    pieces = bytearray()
    while len(pieces) < size:
        piece = line.recv(min(size - len(pieces), 1 << 20))
        if not piece:
            raise EOFError("the other side has closed")
        pieces += piece
    return bytes(pieces)
