"""The process of one probe, from within: it works, and sends what comes of it down a pipe."""

from __future__ import annotations

import importlib
import os
import signal
from typing import Final

import msgspec

from livecheck import framed
from livecheck.capture import Observations, RecordingHost
from livecheck.probes import Context, Probe, ProbeFunction, Progress, Yield
from livecheck.records import NotTested, Reading, spelt


class ReadingSent(msgspec.Struct, frozen=True, tag="reading"):
    """A reading on its way to the runner."""

    value: Reading


class NotTestedSent(msgspec.Struct, frozen=True, tag="not tested"):
    """What was not tested, on its way to the runner."""

    value: NotTested


class ProbeEnd(msgspec.Struct, frozen=True, tag="end"):
    """The last a probe's process says."""

    says: str
    died: bool
    scopes: dict[str, Observations]


Message = ReadingSent | NotTestedSent | Progress | ProbeEnd
DECODER: Final = msgspec.msgpack.Decoder(Message)


def live(probe: Probe, context: Context, pipe: int) -> None:
    """The child's whole life; never returns."""
    code = 1
    try:
        os.setpgid(0, 0)
        # A probe's stray output must not reach the console's screen or a pipe of results.
        silent = os.open(os.devnull, os.O_RDWR)
        for descriptor in (0, 1, 2):
            os.dup2(silent, descriptor)
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        _send(pipe, _work(probe, context, pipe))
        code = 0
    finally:
        os._exit(code)


def _work(probe: Probe, context: Context, pipe: int) -> ProbeEnd:
    host = context.host.scope(f"probe:{probe.name}")
    scoped = msgspec.structs.replace(context, host=host)
    module, _, name = probe.function.partition(":")
    died, says = False, ""
    try:
        function: ProbeFunction = getattr(importlib.import_module(module), name)
        for item in function(scoped):
            _send(pipe, _wrap(item))
    except Exception as error:
        # The process boundary: whatever went wrong in a probe is a value from here on.
        died, says = True, f"failed with {type(error).__name__}: {error}"
    scopes = host.scopes if isinstance(host, RecordingHost) else {}
    mine = {k: v for k, v in scopes.items() if k.startswith(f"probe:{probe.name}")}
    return ProbeEnd(says=says, died=died, scopes=mine)


def _wrap(item: Yield) -> Message:
    if isinstance(item, Reading):
        return ReadingSent(item)
    if isinstance(item, NotTested):
        return NotTestedSent(item)
    return item


def _send(pipe: int, message: Message) -> None:
    try:
        body = msgspec.msgpack.encode(message)
    except UnicodeEncodeError:  # a device's name that is no text costs no reading
        body = msgspec.msgpack.encode(spelt(msgspec.to_builtins(message)))
    framed.send(pipe, body)
