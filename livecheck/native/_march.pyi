"""March tests over real memory. See _march.c for what keeps them out of the cache."""

from typing_extensions import Buffer

def march(
    memory: Buffer,
    first: int,
    lines: int,
    ops: bytes,
    down: bool,
    key: int,
    words: bytes,
    seed: int = 0,
    base: int = 0,
    kernel: str | None = None,
    log: Buffer | None = None,
    limit: int = 1024,
) -> tuple[int, list[tuple[int, int, int, int, int, int]]]:
    """Run one march element over ``lines`` 64-byte lines from line ``first``.

    ``ops``: one byte an operation, bit 0 the value, bit 1 set for a write.
    ``key``/``words``/``seed``: the background; ``base`` is added to the line
    number where the background depends on it. ``kernel``: one of kernels(),
    None for the widest. ``log``: receives nine 64-bit words an operation
    (line * 2 + 1 for a write, then the eight words moved).

    Returns the number of wrong words, and of the first ``limit`` of them
    (line, word in line, operation, expected, read, read again from memory).

    ValueError for a buffer not on a line boundary, lines outside it, or codes
    out of range. The interpreter lock is released meanwhile.
    """

def kernels() -> tuple[str, ...]:
    """Names of the kernels this processor runs, narrowest first."""

def lock(memory: Buffer, /) -> None:
    """Keep the buffer in memory. OSError (EPERM, ENOMEM, EAGAIN) when not allowed."""

def unlock(memory: Buffer, /) -> None:
    """Undo lock()."""

def address(memory: Buffer, /) -> int:
    """Virtual address of the buffer."""
