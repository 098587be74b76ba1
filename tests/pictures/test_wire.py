"""Messages pass whole, whatever their size."""

import socket
import threading

import pytest

from inventory.pictures import wire


@pytest.mark.parametrize("size", [0, 1, 3_000_000])
def test_a_message_comes_out_as_it_went_in(size) -> None:
    """A head with any characters and bytes of any number."""
    here, there = socket.socketpair()
    with here, there:
        head, blob = {"text": "a\x00\x1dß日"}, b"\xff" * size
        sender = threading.Thread(target=wire.send, args=(here, head, blob))
        sender.start()
        received = wire.receive(there)
        sender.join()

    assert received == (head, blob)


def test_half_a_message_is_an_end() -> None:
    """The other side died while it wrote."""
    here, there = socket.socketpair()
    with there:
        here.sendall(b"\0\0\0\x10\0\0\0\0{")
        here.close()
        with pytest.raises(EOFError):
            wire.receive(there)


def test_an_absurd_head_is_an_end() -> None:
    """A child gone wild must not make the server reserve 4 GB."""
    here, there = socket.socketpair()
    with here, there:
        here.sendall(b"\xff\xff\xff\xff\0\0\0\0")
        with pytest.raises(EOFError, match="expected a head of at most"):
            wire.receive(there)
