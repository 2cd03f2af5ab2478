"""The lines of ``recorder.jsonl``: what they hold, and reading them however they end.

The first line is the header with the table of channels; then one line a sample, its values
in the order of that table; kernel messages in between; last a closing line. Blank lines are
room set aside for what is still to come, and a line that was cut short is left out.
"""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.meters import Channel, Sample
from livecheck.records import SCHEMA, Machine, Record

FILE: Final = "recorder.jsonl"
OLDER: Final = "recorder.1.jsonl"
"""The segment before; there are never more than these two."""


class Header(Record, frozen=True, kw_only=True, tag_field="line", tag="header"):
    """First line of each segment."""

    boot: str
    """The kernel's random id of this start (/proc/sys/kernel/random/boot_id)."""
    started: str
    """ISO 8601 UTC by the machine's clock."""
    machine: Machine
    program: str
    channels: tuple[Channel, ...]
    panics: tuple[str, ...] = ()
    """Names of crash records that lay in the firmware's store already."""
    segment: int = 1
    schema: int = SCHEMA


class LastMessage(Record, frozen=True, kw_only=True, tag_field="line", tag="kernel"):
    """A kernel message that may be the last."""

    seconds: float
    priority: int
    text: str


class Closing(Record, frozen=True, kw_only=True, tag_field="line", tag="end"):
    """Last line of a record that ended in order."""

    seconds: float
    how: str
    """``done``: the run was over; ``asked``: the system asked every process to end;
    ``alone``: the run's own process was gone; ``trouble``: see ``says``."""
    says: str = ""


class _Sample(msgspec.Struct, frozen=True, tag_field="line", tag="s"):
    """A sample with the shortest names: there is one a second."""

    t: float
    v: tuple[float | None, ...]
    p: str = ""
    w: float | None = None


class Recorded(Record, frozen=True, kw_only=True):
    """What a record held."""

    header: Header
    samples: tuple[Sample, ...]
    told: tuple[LastMessage, ...]
    closing: Closing | None
    damaged: int = 0
    """Lines that were not whole."""


_Line = Header | LastMessage | Closing | _Sample
_DECODER: Final = msgspec.json.Decoder(_Line)


def encode(line: Header | LastMessage | Closing | Sample) -> bytes:
    """One line with its end."""
    body: Header | LastMessage | Closing | _Sample
    if isinstance(line, Sample):
        wall = None if line.wall is None else round(line.wall, 1)
        body = _Sample(round(line.seconds, 2), line.values, line.step, wall)
    else:
        body = line
    return msgspec.json.encode(body) + b"\n"


def parse(*segments: bytes) -> Recorded | None:
    """Read the segments of a record, oldest first; None when no header is whole."""
    header: Header | None = None
    samples: list[Sample] = []
    told: list[LastMessage] = []
    closing: Closing | None = None
    damaged = 0
    for raw in b"\n".join(segments).splitlines():
        body = raw.strip(b" \x00\r\t")
        if not body:
            continue
        try:
            line = _DECODER.decode(body)
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            damaged += 1
            continue
        if isinstance(line, Header):
            if header is not None and header.channels != line.channels:
                samples.clear()
            header = line
        elif isinstance(line, LastMessage):
            told.append(line)
        elif isinstance(line, Closing):
            closing = line
        elif header is None or len(line.v) != len(header.channels):
            damaged += 1
        elif samples and line.t < samples[-1].seconds:
            # The clock of one start never runs backwards (CLOCK_MONOTONIC, clock_gettime(2)).
            damaged += 1
        else:
            samples.append(Sample(seconds=line.t, values=line.v, step=line.p, wall=line.w))
    if header is None:
        return None
    return Recorded(
        header=header,
        samples=tuple(samples),
        told=tuple(told),
        closing=closing,
        damaged=damaged,
    )
