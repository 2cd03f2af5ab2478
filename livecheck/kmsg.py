"""Records of /dev/kmsg and the messages in them (Linux Documentation/ABI/testing/dev-kmsg)."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Iterator
from typing import Final

from livecheck.host import KernelMessage, Unreadable

MOST_RECORDS: Final = 1 << 18
"""Of one look: who writes faster than we read keeps us no longer. Debian's buffer has 2^18 bytes
(CONFIG_LOG_BUF_SHIFT, from memory), and no record is of one byte."""


def kmsg_records(descriptor: int) -> Iterator[bytes]:
    """Raw records; a record overwritten while we read it is passed over (EPIPE)."""
    for _ in range(MOST_RECORDS):
        try:
            record = os.read(descriptor, 8192)
        except BlockingIOError:
            return
        except BrokenPipeError:
            continue
        except OSError as error:
            if error.errno == errno.EINVAL:  # longer than the buffer; never seen in practice
                continue
            raise Unreadable("/dev/kmsg", error.errno or errno.EIO) from error
        if not record:
            return
        yield record


_KMSG_HEAD = re.compile(r"^(\d{1,9}),\d+,(\d{1,18}),[^;]*;(.*)$")


def parse_kmsg(records: Iterator[bytes]) -> Iterator[KernelMessage]:
    """Typed messages of /dev/kmsg records (Documentation/ABI/testing/dev-kmsg)."""
    head: tuple[float, int, str] | None = None
    device: str | None = None
    for line in b"".join(r if r.endswith(b"\n") else r + b"\n" for r in records).splitlines():
        words = line.decode("utf-8", "replace")
        match = _KMSG_HEAD.match(words)
        if match:
            if head:
                yield KernelMessage(head[0], head[1], head[2], device)
            facility, priority = divmod(int(match[1]), 8)
            # Programs may write here too; the facility 0 is the kernel's alone.
            head = None if facility else (int(match[2]) / 1e6, priority, match[3])
            device = None
        elif words.startswith(" DEVICE="):
            device = words[8:]
    if head:
        yield KernelMessage(head[0], head[1], head[2], device)
