"""The front door; the only place that ends the process."""

from __future__ import annotations

import contextlib
import os
import sys


def main() -> None:
    """Run the command line and exit once; the console does not wait for its commands."""
    _stand_in()
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


def _run() -> None:
    if len(sys.argv) == 1 and sys.stdin.isatty() and sys.stdout.isatty():
        from livecheck import console

        sys.exit(console.run(None))
    from livecheck import cli

    try:
        sys.exit(cli.main(sys.argv[1:]))
    finally:
        _flush()


def _flush() -> None:
    """Whoever read our output may have had enough of it; at the exit that would be an error
    (Python's library reference, signal, "Note on SIGPIPE")."""
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    main()
