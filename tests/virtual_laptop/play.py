"""A case played out: starts of one laptop with parts swapped between them."""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
import mmap
import shlex
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any, Final

import msgspec

from tests.virtual_laptop import acpi, command, faults, shell
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.laptop import Adapter, Battery, Drive, Laptop
from tests.virtual_laptop.stick import CHECKOUT, Stick, case_folders

KEPT: Final = "played.json"
SECONDS_OFF: Final = 30.0
"""Until somebody presses the power key of a machine that went off."""
SECONDS_TO_BEGIN: Final = 900.0
SECONDS_TO_END: Final = 900.0
"""For busy machines: a start took about four minutes on two cores with three more guests."""


class Start(msgspec.Struct, frozen=True, kw_only=True):
    """One start of the laptop: what is fitted, and what the bench told the program."""

    laptop: Laptop
    complaint: str = "intake"
    probes: str = ""
    """Names for ``--probes``; empty: what the complaint calls for."""
    told: tuple[str, ...] = ()
    """Further arguments of ``livecheck run``, such as ``--reseated PLACE``."""
    lies_off: bool = False
    """Ends by a loss of power, which a fault or ``cut`` brings about."""
    cut: float | None = None
    """Power is taken so many seconds after the program's first line."""


class Played(msgspec.Struct, frozen=True, kw_only=True):
    """What came of a case, seen from outside."""

    location: dict[str, Any]
    writes: int
    """Write operations on internal drives over all starts, by QEMU's count."""
    changed: tuple[str, ...]
    """Internal drives whose content is another than before."""
    seconds: float


class Bench:
    """One case: its stick, its drives' media, its folder."""

    def __init__(self, image: Path, folder: Path, hidden: tuple[faults.Fault, ...]) -> None:
        self.folder, self.hidden = folder, hidden
        folder.mkdir(parents=True, exist_ok=True)
        self.stick = Stick(image, folder)
        self.starts = 0
        self.writes = 0
        self._sums: dict[str, str] = {}

    @property
    def acting(self) -> tuple[faults.Fault, ...]:
        """The faults there are in the present start."""
        return tuple(f for f in self.hidden if f.gone_from is None or self.starts < f.gone_from)

    @contextlib.contextmanager
    def started(self, start: Start, append: str, with_shell: bool = False) -> Iterator[Guest]:
        """The laptop switched on; the power is gone when the block ends.

        ``with_shell``: with the line for ``shell.Shell``, and it may start itself anew.
        """
        self.starts += 1
        folder = self.folder / f"start-{self.starts}"
        folder.mkdir()
        arguments = command.qemu(start.laptop, self.acting, self.stick, folder, append)
        if with_shell:
            arguments.remove("-no-reboot")
            arguments += shell.options(folder)
        self._remember(start.laptop)
        page = acpi.Page(folder / "memory", command.PAGE)
        supply(page, start.laptop, self.acting)
        with Guest(arguments, folder, page) as guest, self._acting(guest, start):
            yield guest
            self._count(guest)
        (folder / "memory").unlink()

    def run(self, start: Start) -> None:
        """One ``livecheck run`` from power-on to power-off, with nobody at the keys."""
        words = ["run", "--complaint", start.complaint, "--ticket", "V1", *start.told]
        words += ["--probes", start.probes] if start.probes else []
        append = f'livecheck.args="{shlex.join(words)}" livecheck.output=ttyS0 livecheck.poweroff'
        with self.started(start, append) as guest:
            guest.until(
                lambda: ": done" in guest.said() or start.lies_off,
                SECONDS_TO_BEGIN,
                "a first probe",
            )
            if start.cut is not None:
                time.sleep(start.cut)
                return
            self._watch(guest, start)
            if start.lies_off:
                time.sleep(SECONDS_OFF)
                return
            said = guest.said()
            assert "livecheck ended with status 0" in said, said[-3000:]

    def _watch(self, guest: Guest, start: Start) -> None:
        """Until the guest is off; the drives' counters are read while it still answers."""
        end = time.monotonic() + SECONDS_TO_END
        while guest.running:
            if time.monotonic() > end:
                raise TimeoutError(f"not off in {SECONDS_TO_END:.0f} s: {guest.said()[-2000:]}")
            with contextlib.suppress(Exception):
                self._count(guest)
            time.sleep(0.5)

    def _count(self, guest: Guest) -> None:
        if guest.running:
            counts = guest.written()
            now = sum(n for name, n in counts.items() if name != "stick")
            self.writes = max(self.writes, now)

    def _remember(self, laptop: Laptop) -> None:
        for _, part in laptop.fitted.items():
            file = self.folder / f"{part.name}.medium"
            if isinstance(part, Drive) and part.name not in self._sums:
                self._sums[part.name] = _checksum(file)

    def finish(self, seconds: float) -> Played:
        """Reads the case back from the stick and asks the program where the fault lies."""
        cases = self.stick.copy_cases(self.folder / "shop")
        changed = tuple(
            name
            for name, known in self._sums.items()
            if _checksum(self.folder / f"{name}.medium") != known
        )
        return Played(
            location=located(cases[-1]),
            writes=self.writes,
            changed=changed,
            seconds=seconds,
        )

    @contextlib.contextmanager
    def _acting(self, guest: Guest, start: Start) -> Iterator[None]:
        """Faults that act while the guest runs, each in a thread of its own."""
        stop = threading.Event()
        acts: list[Callable[[], None]] = []
        for fault in self.acting:
            place = fault.place(start.laptop)
            if place is None:
                continue
            match fault:
                case faults.StuckBit():
                    cells = _addresses(start.laptop, place, fault)
                    memory = guest.folder / "memory"
                    acts.append(partial(_stick, memory, cells, fault.bit, stop))
                case faults.RunsHot():
                    acts.append(partial(_heat, guest, fault, stop))
                case faults.Critical():
                    path = f"/machine/peripheral/dev-{start.laptop.fitted[place].name}"
                    guest.tell("qom-set", path=path, property="smart_critical_warning",
                               value=fault.warning)  # fmt: skip
                case faults.SwitchesOff():
                    acts.append(partial(_switch_off, guest, fault, stop))
        threads = [threading.Thread(target=act, daemon=True) for act in acts]
        for thread in threads:
            thread.start()
        try:
            yield
        finally:
            stop.set()
            for thread in threads:
                thread.join()


def play(
    image: Path, folder: Path, hidden: tuple[faults.Fault, ...], starts: tuple[Start, ...]
) -> Played:
    """All starts of a case, one after the other; the folder keeps what they left.

    Where it holds a case played before, only the starts that came to it since are played.
    """
    before = Played(location={}, writes=0, changed=(), seconds=0.0)
    if (folder / KEPT).exists():
        before = msgspec.json.decode((folder / KEPT).read_bytes(), type=Played)
    began = time.monotonic() - before.seconds
    bench = Bench(image, folder, hidden)
    bench.writes = before.writes
    bench.starts = len(list(folder.glob("start-*")))
    for start in starts[bench.starts :]:
        bench.run(start)
    played = bench.finish(time.monotonic() - began)
    (folder / KEPT).write_bytes(msgspec.json.encode(played))
    return played


def again(folder: Path) -> Played:
    """A case played before, located by the program as it is now; nothing is started.

    The folder is the one that was given to ``play``.
    """
    played = msgspec.json.decode((folder / KEPT).read_bytes(), type=Played)
    case = case_folders(folder / "shop")[-1]
    return Played(
        location=located(case),
        writes=played.writes,
        changed=played.changed,
        seconds=played.seconds,
    )


def located(case: Path) -> dict[str, Any]:
    """``livecheck locate --json`` of a case folder."""
    done = subprocess.run(
        [sys.executable, "-m", "livecheck", "locate", str(case), "--json"],
        capture_output=True, text=True, check=False, cwd=CHECKOUT,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def _checksum(file: Path) -> str:
    with file.open("rb") as data:
        return hashlib.file_digest(data, "sha256").hexdigest()


def supply(page: acpi.Page, laptop: Laptop, hidden: tuple[faults.Fault, ...]) -> None:
    """Adapter, battery and temperature as the guest finds them."""
    kinds = {type(f): f for f in hidden if f.place(laptop) is not None}
    online = isinstance(laptop.fitted.get("jack"), Adapter) and faults.NoSupply not in kinds
    battery = laptop.fitted.get("bay")
    page.set(ONLN=int(online), CRIT=3831, BATP=int(isinstance(battery, Battery)))
    page.celsius(44)
    if not isinstance(battery, Battery):
        return
    worn = kinds.get(faults.Worn)
    full = (
        round(battery.design_mwh * worn.share)
        if isinstance(worn, faults.Worn)
        else battery.full_mwh
    )
    charging = online and faults.NoCharge not in kinds
    state = acpi.CHARGING if charging else 0 if online else acpi.DISCHARGING
    rate = 18_000 if charging else 0 if online else 11_000
    page.set(STAT=state, RATE=rate, REMN=full // 2, VOLT=11_600, FULL=full, DESG=battery.design_mwh,
             CYCL=battery.cycles)  # fmt: skip


def _addresses(laptop: Laptop, place: str, fault: faults.StuckBit) -> tuple[int, ...]:
    """Modules answer one behind the other, in the order of their slots."""
    start = 0
    for slot, module in laptop.parts("dimm"):
        if slot == place:
            break
        start += module.mib << 20  # type: ignore[attr-defined]
    return tuple(start + (offset << 20) + 0x5A8 for offset in fault.offsets_mib)


def _stick(memory: Path, addresses: tuple[int, ...], bit: int, stop: threading.Event) -> None:
    """Sets the bit again and again, as a cell that cannot be cleared would read."""
    with memory.open("r+b") as file, mmap.mmap(file.fileno(), 0) as cells:
        while not stop.wait(0.0002):
            for at in addresses:
                cells[at] |= 1 << bit


def _wanted(pid: int) -> float:
    """Processor seconds a process has used or waited for, over its threads.

    What the guest asks for, however busy this machine is with other things; time in
    nanoseconds (Documentation/scheduler/sched-stats.rst, /proc/PID/schedstat).
    """
    threads = Path(f"/proc/{pid}/task").glob("*/schedstat")
    return sum(sum(map(int, file.read_text().split()[:2])) for file in threads) / 1e9


def _heat(guest: Guest, fault: faults.RunsHot, stop: threading.Event) -> None:
    """A first-order answer, time constant 12 s, to what the guest's two processors do.

    It begins with the first probe that is done: under emulation starting up is a minute of
    full load, which it is on no laptop.
    """
    while ": done" not in guest.said():
        if stop.wait(0.5) or not guest.running:
            return
    celsius, before = fault.idle, _wanted(guest.process.pid)
    while not stop.wait(1.0) and guest.running:
        with contextlib.suppress(OSError):
            now = _wanted(guest.process.pid)
            share = min((now - before) / 2, 1.0)
            before = now
            aim = fault.idle + (fault.loaded - fault.idle) * share
            celsius += (aim - celsius) * (1 - math.exp(-1 / 12))
            guest.page.celsius(celsius)


def _switch_off(guest: Guest, fault: faults.SwitchesOff, stop: threading.Event) -> None:
    while fault.after not in guest.said():
        if stop.wait(0.2) or not guest.running:
            return
    if not stop.wait(fault.seconds):
        guest.process.kill()
