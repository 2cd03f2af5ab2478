"""Asking what may never answer, or never stop: files of the kernel, and other programs.

A driver that waits for a dead device holds up whoever reads its attribute, and no signal
reaches a process that waits so. So each read has a thread, which is left behind when it takes
too long; while it hangs, nothing else is asked of that device. A program's output is bounded:
a journal of a few megabytes can unpack to any length.
"""

from __future__ import annotations

import contextlib
import errno
import os
import selectors
import subprocess
import threading
import time
from typing import Final

from livecheck.host import CommandResult, Unreadable

READ_LIMIT: Final = 4 << 20
"""Largest file read whole, in bytes; sysfs and procfs files are far smaller."""
READ_SECONDS: Final = 4.0
"""Batteries answer through the embedded controller within a second (from memory)."""
OUTPUT_BYTES: Final = 64 << 20
"""The longest asked for, the kernel's part of a journal, has a tenth of it (assumed)."""
PIECE: Final = 1 << 16


class FileReader:
    """Reads files of the kernel, each for so long."""

    def __init__(self) -> None:
        self._hanging: dict[str, threading.Thread] = {}
        """Folder, which is a device, and the thread that still waits there."""

    def read(self, path: str) -> bytes:
        """A file's content, up to ``READ_LIMIT`` bytes. Raises Unreadable."""
        folder = path.rpartition("/")[0]
        before = self._hanging.get(folder)
        if before is not None and before.is_alive():
            raise Unreadable(path, errno.ETIMEDOUT)
        answers: list[bytes | OSError] = []
        thread = threading.Thread(target=_answer, args=(path, answers), daemon=True)
        try:
            thread.start()
        except RuntimeError as error:  # so the limit of threads is told (setrlimit(2))
            raise Unreadable(path, errno.EAGAIN) from error
        thread.join(READ_SECONDS)
        if not answers:
            self._hanging[folder] = thread
            raise Unreadable(path, errno.ETIMEDOUT)
        if isinstance(answers[0], OSError):
            raise Unreadable(path, answers[0].errno or errno.EIO) from answers[0]
        return answers[0]


def _answer(path: str, answers: list[bytes | OSError]) -> None:
    try:
        answers.append(_content(path))
    except OSError as error:
        answers.append(error)
    except ValueError as error:
        answers.append(OSError(errno.EINVAL, str(error)))


def _content(path: str) -> bytes:
    # O_NONBLOCK: some attributes and device nodes would wait for hardware.
    descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
    try:
        whole = b""
        while len(whole) < READ_LIMIT:
            part = os.read(descriptor, min(PIECE, READ_LIMIT - len(whole)))
            if not part:
                break
            whole += part
        return whole
    finally:
        os.close(descriptor)


def output(argv: list[str], environment: dict[str, str], deadline: float) -> CommandResult:
    """What a program says within so many seconds. In the process group of who asks: what ends
    a probe ends its commands with it."""
    try:
        process = subprocess.Popen(
            argv,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env=environment,
        )
    except OSError as error:
        return CommandResult(None, b"", b"", f"{argv[0]} did not start: {error.strerror}")
    name = argv[0].rpartition("/")[2]
    until = time.monotonic() + deadline
    try:
        out, err = _said(process, until)
        return CommandResult(process.wait(max(0.0, until - time.monotonic())), out, err)
    except (TimeoutError, subprocess.TimeoutExpired):
        return _given_up(process, f"{name} did not answer in {deadline:g} s")
    except OverflowError:
        return _given_up(process, f"{name} said more than {OUTPUT_BYTES >> 20} MiB")


def _said(process: subprocess.Popen[bytes], until: float) -> tuple[bytes, bytes]:
    """All of both streams. Raises TimeoutError, and OverflowError for more than is taken."""
    out, err = bytearray(), bytearray()
    with selectors.DefaultSelector() as open_ends:
        for stream, said in ((process.stdout, out), (process.stderr, err)):
            if stream is not None:
                open_ends.register(stream, selectors.EVENT_READ, said)
        while open_ends.get_map():
            ready = open_ends.select(max(0.0, until - time.monotonic()))
            if not ready:
                raise TimeoutError
            for key, _ in ready:
                piece = os.read(key.fd, PIECE)
                key.data.extend(piece)
                if not piece:
                    open_ends.unregister(key.fileobj)
            if len(out) + len(err) > OUTPUT_BYTES:
                raise OverflowError
    _close(process)
    return bytes(out), bytes(err)


def _given_up(process: subprocess.Popen[bytes], trouble: str) -> CommandResult:
    """Kill a command; one stuck in the kernel is left behind."""
    process.kill()
    _close(process)
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(timeout=1)
    return CommandResult(None, b"", b"", trouble)


def _close(process: subprocess.Popen[bytes]) -> None:
    for stream in (process.stdout, process.stderr):
        if stream is not None:
            stream.close()
