"""The front door; the only place that ends the process."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import signal
import sys
from typing import TYPE_CHECKING, Final, TextIO

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer


def main() -> None:
    """Run the command line and exit once; the console does not wait for its commands."""
    _stand_in()
    sys.stderr = _heard_or_not(sys.stderr)
    # A parent's may be to ignore it, and then nobody is told how a child ended (execve(2)).
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    # What is saved can be read again by whom it belongs to, whatever a shell before us set.
    os.umask(os.umask(0o077) & 0o077)
    # Asked to end before there is anything to be ended; commands answer for themselves.
    with contextlib.suppress(KeyboardInterrupt):
        _run()
    sys.exit(STOPPED)


STOPPED = 130
"""128 and the number of SIGINT, as shells have it."""


def _stand_in() -> None:
    """A descriptor that was closed before the start would be given to the next file opened, and
    what is printed would go into that: /dev/null takes its place (POSIX, XSH 2.5)."""
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        if getattr(sys, name) is None:
            os.open(os.devnull, os.O_RDWR)
            setattr(sys, name, os.fdopen(number, "w" if number else "r", closefd=False))


class _Heedless(io.FileIO):
    """Messages that nobody reads any more, or that cannot be written, stop nothing."""

    def write(self, data: ReadableBuffer, /) -> int:
        try:
            return super().write(data) or 0
        except OSError as error:
            if error.errno not in _FULL:
                raise
            return memoryview(data).nbytes


def _heard_or_not(messages: TextIO) -> TextIO:
    """The same stream, heedless of its reader."""
    raw = io.BufferedWriter(_Heedless(messages.fileno(), "w", closefd=False))
    return io.TextIOWrapper(raw, messages.encoding, messages.errors, line_buffering=True)


def _run() -> None:
    if len(sys.argv) == 1 and sys.stdin.isatty() and sys.stdout.isatty():
        from livecheck import console

        sys.exit(console.run(None))
    from livecheck import cli

    try:
        try:
            sys.exit(cli.main(sys.argv[1:]))
        finally:
            sys.stdout.flush()
    except OSError as error:
        # Files have names; what commands save and read, they answer for themselves.
        if error.filename is not None or error.errno not in _FULL:
            raise
        sys.exit(_unprinted(error))


_FULL: Final = (errno.EPIPE, errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)


def _unprinted(error: OSError) -> int:
    """The status where nobody reads our output any more, which is no failure, or nothing of it
    can be written, as on a full disk; at the exit either would be an error (Python's library
    reference, signal, "Note on SIGPIPE")."""
    from livecheck import cli

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if error.errno == errno.EPIPE:
        ended = error.__context__
        return ended.code if isinstance(ended, SystemExit) and isinstance(ended.code, int) else 0
    with contextlib.suppress(OSError):
        says = f"what was found could not be printed: {error.strerror} (print it elsewhere)"
        print(f"livecheck: {says}", file=sys.stderr)
    return cli.FAILED


if __name__ == "__main__":
    main()
