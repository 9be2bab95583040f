"""Messages over a socket: plain JSON, then bytes, both with their length before them. Nothing is ever unpickled."""

from __future__ import annotations

import json
import socket
import struct
from typing import Any

from service.geometry.limits import MOST_ANSWER, MOST_FIGURES

OUT_OF_MEMORY = "out_of_memory"
"""What a child answers whose file needed more memory than it had."""

_LENGTHS = struct.Struct("<II")


def send(to: socket.socket, said: dict[str, Any], data: bytes) -> None:
    """Send a message; raises ValueError for figures that are not finite."""
    figures = json.dumps(said, allow_nan=False).encode()
    to.sendall(_LENGTHS.pack(len(figures), len(data)) + figures)
    to.sendall(data)


def receive(sender: socket.socket) -> tuple[dict[str, Any], bytes]:
    """The next message; raises EOFError when the other end is gone or sends what is none."""
    figures, data = _LENGTHS.unpack(_exactly(sender, _LENGTHS.size))
    if figures > MOST_FIGURES or data > MOST_ANSWER:
        raise EOFError("a message that is longer than any")
    try:
        said: dict[str, Any] = dict(json.loads(_exactly(sender, figures)))
    except (ValueError, TypeError) as error:
        raise EOFError("a message that is none") from error
    return said, _exactly(sender, data)


def _exactly(sender: socket.socket, size: int) -> bytes:
    # Filled as it comes: what is announced is not believed before it is there.
    buffer = bytearray()
    while len(buffer) < size:
        chunk = sender.recv(min(size - len(buffer), 1 << 20))
        if not chunk:
            raise EOFError("the other end is gone")
        buffer += chunk
    return bytes(buffer)
