"""Probes: code that turns a host and an inventory into readings.

A probe never decides blame; ``shared/checks.toml`` says which components could
make each check fail. A probe is a generator function of a ``Context``. It
yields readings as it gets them, so what it had when it hung, died or was
stopped is kept; between readings it may yield ``Progress``. It runs in a
process of its own (``livecheck.probes.runner``) and raises nothing on purpose:
what cannot be read is a reading that is not judged, with ``why_not``; what is
not there to be read at all is a ``NotTested``.

To add a probe: write ``livecheck/probes/<subject>/<name>.py`` with such a function,
add its checks to shared/checks.toml, and list it in ``livecheck.probes.registry``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import msgspec

from livecheck.host import Host
from livecheck.probes.control import NONE, Control
from livecheck.records import Inventory, KernelEvent, Knowledge, NotTested, Reading


class Progress(msgspec.Struct, frozen=True, kw_only=True, tag="progress"):
    """How far a probe is."""

    says: str
    done: float | None = None
    """Share done, 0 … 1; None: cannot tell."""
    seconds_left: float | None = None
    paused: bool = False
    """True: it rests because the technician asked it to."""


class Span(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of a drive to be read whole, whatever the depth."""

    start: int
    """First byte."""
    end: int
    """The byte after the last."""
    drive: str | None = None
    """Kernel name of the one drive meant (``sda``); None: every drive."""


class Context(msgspec.Struct, frozen=True, kw_only=True):
    """What a probe is given."""

    host: Host
    inventory: Inventory
    events: tuple[KernelEvent, ...]
    """Kernel messages since the start, with their components."""
    knowledge: Knowledge
    depth: str = "quick"
    """``quick``, ``full`` or ``soak``."""
    span: Span | None = None
    """For probes that read drives: only this stretch."""
    control: Control = NONE
    """What the technician asks for while the probe runs."""
    soak_seconds: float = 0.0
    """How long the soak of a hand-over loads the machine; 0: not at all."""


Yield = Reading | NotTested | Progress
ProbeFunction = Callable[[Context], Iterator[Yield]]


class Probe(msgspec.Struct, frozen=True, kw_only=True):
    """One entry of the registry."""

    name: str
    title: str
    """What the technician reads while it runs."""
    function: str
    """``module:function``; imported only in the probe's own process."""
    passive: bool
    """True: only looks, loads nothing, takes seconds. Passive probes run side by side."""
    deadline: float
    """Seconds at quick depth after which it is given up."""
    full_deadline: float | None = None
    """The same at full depth; None: as at quick."""
    complaints: tuple[str, ...] = ()
    """An active probe runs by itself only for these complaints; empty: for all."""
    opt_in: bool = False
    """True: it runs only at a hand-over, or when it is named."""
    supports_control: bool = False
    """True: it looks at its context's ``control``; others cannot pause, and skipping ends them."""
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml of what to say when it begins."""
