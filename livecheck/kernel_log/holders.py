"""Whose a disk's name was when a line was written.

A stick that fails and is pulled gives ``sdb`` back, and the next disk is called so. The kernel
says which address a name went to (drivers/scsi/sd.c: ``sd 6:0:0:0: [sdb] ...``).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.host import KernelMessage
from livecheck.records import KernelEvent

_HELD: Final = re.compile(r"sd (\d+:\d+:\d+:\d+): \[(sd[a-z]+)\]")
_DISK: Final = re.compile(r"(sd[a-z]+)\d*")


class Holders:
    """Who holds each name of a disk: line by line, and at the end of the messages."""

    def __init__(self, messages: Sequence[KernelMessage]) -> None:
        self._now: dict[str, str] = {}
        self._last = dict(held for one in messages if (held := _held(one)))

    def learn(self, message: KernelMessage) -> None:
        """Take in one line."""
        held = _held(message)
        if held is not None:
            self._now[held[0]] = held[1]

    def named(self, event: KernelEvent) -> KernelEvent:
        """The event, by its disk's address where another disk has the name by now."""
        disk = _DISK.fullmatch(event.device or "")
        held = self._now.get(disk[1]) if disk is not None else None
        if disk is None or held is None or held == self._last[disk[1]]:
            return event
        return msgspec.structs.replace(event, device=held)


def _held(message: KernelMessage) -> tuple[str, str] | None:
    found = _HELD.match(message.text)
    return None if found is None else (found[2], found[1])
