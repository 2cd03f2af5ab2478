"""The recorder's own process, and the run's handle on it.

Forked before the first probe, it leads a session of its own, so that no key of the
technician and no end of a probe reaches it, and it ends by itself when the run's process is
gone. It writes below the folder of cases and nowhere else.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import select
import signal
import time
from pathlib import Path
from types import FrameType
from typing import Final

import msgspec

from livecheck import __version__
from livecheck.casefile import atomic
from livecheck.host import Host, Unreadable
from livecheck.listening import LogHost, LogTail
from livecheck.meters import Sampler
from livecheck.recorder import aftermath, lines, openings
from livecheck.recorder.file import AWAY, RecordFile
from livecheck.recorder.lines import Closing, Header, LastMessage
from livecheck.recorder.openings import Opening

EVERY_SECONDS: Final = 1.0
PATIENCE_SECONDS: Final = 5.0
"""Waited for the last flush before the recorder is left behind."""
SERIOUS: Final = 3
"""Kernel messages up to this priority are kept (3: error)."""
MOST_TOLD: Final = 10
"""Kernel messages kept of one second."""
MOST_CHARACTERS: Final = 200
MOST_DESCRIPTORS: Final = 1024
"""The soft limit of open files a process usually has; a run has far fewer."""


class RecordingSummary(msgspec.Struct, frozen=True, kw_only=True):
    """How the recording went."""

    samples: int = 0
    bytes_written: int = 0
    """Lines; what the drive writes for them is more (whole blocks)."""
    seconds: float = 0.0
    cpu_seconds: float = 0.0
    trouble: str | None = None
    """Why it ended before the run, where it did."""


class _Order(msgspec.Struct, frozen=True):
    """What the run tells the recorder; exactly one field is set."""

    step: str | None = None
    move: str | None = None
    stop: bool = False


class Recorder:
    """The run's handle. Nothing here raises: a recorder that died costs the record only."""

    def __init__(self, pid: int, orders: int, answers: int) -> None:
        self.pid = pid
        self._orders = orders
        self._answers = answers

    def step(self, name: str) -> None:
        """From now on samples carry this step."""
        self._tell(_Order(step=name))

    def move(self, folder: Path) -> None:
        """Go on in the run's folder, once it is known."""
        self._tell(_Order(move=str(folder)))

    def stop(self) -> RecordingSummary:
        """End the record in order; returns how it went."""
        self._tell(_Order(stop=True))
        os.close(self._orders)
        said = b""
        until = time.monotonic() + PATIENCE_SECONDS
        while (left := until - time.monotonic()) > 0:
            if not select.select([self._answers], [], [], left)[0]:
                break
            part = os.read(self._answers, 1 << 16)
            if not part:
                break
            said += part
        os.close(self._answers)
        self._reap(until + 1.0)
        try:
            return msgspec.json.decode(said, type=RecordingSummary)
        except msgspec.DecodeError:
            return RecordingSummary(trouble="the recorder did not end in order")

    def _tell(self, order: _Order) -> None:
        with contextlib.suppress(BrokenPipeError):
            os.write(self._orders, msgspec.json.encode(order) + b"\n")

    def _reap(self, until: float) -> None:
        while time.monotonic() < until:
            with contextlib.suppress(ChildProcessError):
                if not os.waitpid(self.pid, os.WNOHANG)[0]:
                    time.sleep(0.01)
                    continue
            return
        # Stuck in a write to a dead drive: it is left behind.


def start(host: Host, cases: Path, every: float = EVERY_SECONDS) -> Recorder:
    """Begin a record below the folder of cases. The caller must be single-threaded."""
    hearing, telling = os.pipe()
    reading, answering = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            _apart(hearing, answering)
            summary = _Writer(host, cases, hearing, every).run()
            os.write(answering, msgspec.json.encode(summary))
        finally:
            os._exit(0)
    os.close(hearing)
    os.close(answering)
    return Recorder(pid, telling, reading)


def _apart(*kept: int) -> None:
    """Cut every tie with the terminal, the run's pipes and the run's signals."""
    os.setsid()
    silent = os.open(os.devnull, os.O_RDWR)
    for descriptor in (0, 1, 2):
        os.dup2(silent, descriptor)
    last = 3
    for descriptor in sorted(kept):
        os.closerange(last, descriptor)
        last = descriptor + 1
    os.closerange(last, MOST_DESCRIPTORS)
    for number in (signal.SIGINT, signal.SIGHUP, signal.SIGUSR1, signal.SIGUSR2):
        signal.signal(number, signal.SIG_IGN)
    # A load on every core must not keep a second from being written.
    with contextlib.suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, 0, -10)


class _Writer:
    """The recorder's whole life."""

    def __init__(self, host: Host, cases: Path, orders: int, every: float) -> None:
        self._host = host
        self._cases = cases
        self._orders = orders
        self._every = every
        self._heard = b""
        self._step = ""
        self._to: Path | None = None
        """The run's folder, as long as the record is not there."""
        self._how: str | None = None
        self._samples = 0
        signal.signal(signal.SIGTERM, self._asked)

    def _asked(self, number: int, frame: FrameType | None) -> None:
        self._how = "asked"

    def run(self) -> RecordingSummary:
        """Record until told to end. A drive that refuses ends it; the run goes on."""
        trouble = None
        begun = time.monotonic()
        file = None
        try:
            file = self._begin()
            self._record(file)
        except OSError as error:
            trouble = f"{error.strerror or error}"
        used = os.times()
        return RecordingSummary(
            samples=self._samples,
            bytes_written=file.written if file else 0,
            seconds=round(time.monotonic() - begun, 1),
            cpu_seconds=round(used.user + used.system, 2),
            trouble=trouble,
        )

    def _begin(self) -> RecordFile:
        self._sampler = Sampler(self._host)
        self._log = _tail(self._host)
        facts = self._host.facts()
        known = aftermath.machine(self._host)
        # Two benches of one share may start in one second with the same process number.
        stem = f"{facts.now[:19].replace(':', '').replace('-', '')}-{secrets.token_hex(4)}"
        spool = self._cases / openings.FOLDER / stem
        # Where the drive was pulled meanwhile nothing is made in its stead.
        with contextlib.suppress(FileExistsError):
            atomic.take_folder(spool.parent)
        atomic.take_folder(spool)
        boot = aftermath.boot(self._host)
        self._note = openings.note(self._cases, stem)
        folder = str(spool.relative_to(self._cases))
        self._opening = Opening(boot=boot, machine=known, folders=(folder,))
        openings.write(self._note, self._opening)
        header = Header(
            boot=boot,
            started=facts.now,
            machine=known,
            program=__version__,
            channels=self._sampler.channels,
            panics=tuple(p.name for p in aftermath.panics(self._host)),
        )
        return RecordFile(spool, lines.encode(header))

    def _record(self, file: RecordFile) -> None:
        due = time.monotonic()
        while self._how is None:
            words = b"".join(map(lines.encode, self._told()))
            sample = self._sampler.take(self._step, time.time())
            file.append(words + lines.encode(sample))
            self._samples += 1
            self._move(file)
            due = max(due + self._every, time.monotonic())
            while self._how is None and (left := due - time.monotonic()) > 0:
                self._listen(left)
        self._move(file)
        words = b"".join(map(lines.encode, self._told()))
        file.append(words + lines.encode(Closing(seconds=self._host.clock(), how=self._how)))
        file.close()
        if self._how == "done":
            openings.close(self._note)

    def _told(self) -> list[LastMessage]:
        if self._log is None:
            return []
        return [
            LastMessage(seconds=m.seconds, priority=m.priority, text=m.text[:MOST_CHARACTERS])
            for m in self._log.new()
            if m.priority <= SERIOUS
        ][:MOST_TOLD]

    def _listen(self, seconds: float) -> None:
        if not select.select([self._orders], [], [], seconds)[0]:
            return
        heard = os.read(self._orders, 4096)
        if not heard:
            self._how = self._how or "alone"
            return
        *whole, self._heard = (self._heard + heard).split(b"\n")
        for line in whole:
            order = msgspec.json.decode(line, type=_Order)
            if order.step is not None:
                self._step = order.step
            if order.move is not None:
                self._to = Path(order.move)
            if order.stop:
                self._how = self._how or "done"

    def _move(self, file: RecordFile) -> None:
        """The note names both folders before the record moves: a cut between finds it.

        While the drive is away it stays to be done, as the lines stay to be written.
        """
        if self._to is None:
            return
        here = str(self._to.resolve().relative_to(self._cases.resolve()))
        opening = msgspec.structs.replace(self._opening, folders=(*self._opening.folders, here))
        try:
            openings.write(self._note, opening)
            file.move(self._to)
        except OSError as error:
            if error.errno not in AWAY:
                raise
            return
        self._opening, self._to = opening, None


def _tail(host: Host) -> LogTail | None:
    if not isinstance(host, LogHost):
        return None
    try:
        return host.log_tail()
    except Unreadable:
        return None
