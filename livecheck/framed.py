"""Messages through a pipe: each with its length before it, four bytes, most significant first."""

from __future__ import annotations

import os
from collections.abc import Iterator


def send(pipe: int, body: bytes) -> None:
    """Write one message whole, in as many pieces as the pipe takes. Raises OSError."""
    data = len(body).to_bytes(4, "big") + body
    while data:
        data = data[os.write(pipe, data) :]


class Joiner:
    """Puts messages together from the pieces in which they come in."""

    def __init__(self) -> None:
        self._buffer = bytearray()

    def feed(self, piece: bytes) -> Iterator[bytes]:
        """The messages that are whole with this piece, in order."""
        self._buffer += piece
        while len(self._buffer) >= 4:
            end = 4 + int.from_bytes(self._buffer[:4], "big")
            if len(self._buffer) < end:
                return
            body = bytes(self._buffer[4:end])
            del self._buffer[:end]
            yield body
