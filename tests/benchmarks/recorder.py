"""What the recorder costs: ``python -m tests.benchmarks.recorder [--json]``.

``--seconds N`` measures longer, ``--shop DIR`` writes to another drive.

A laptop's meters stand as real files in a temporary folder, so that opening and reading
them costs what sysfs costs without its drivers; the recorder runs on them as in a run, once
a second. ``cpu_share`` is its processor time by the kernel's account (/proc/PID/stat) over
the clock, of one core. ``lines_per_hour`` are the bytes of its lines; ``drive_per_hour``
what the drive below ``--shop`` was given to write (sectors of its block layer statistics),
which is true of the recorder only where nobody else writes there.
Drivers that ask an embedded controller add waiting, not processor time.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from pathlib import Path

from livecheck import recorder
from livecheck.host import UdevDevice
from livecheck.live_host import LiveHost
from livecheck.meters import Sampler
from livecheck.recorder import lines, openings
from tests.inventory.fake_host import SYS, FakeHost, attributes, device
from tests.recorder.machines import laptop

SETTLE_SECONDS = 2.0
TICKS = os.sysconf("SC_CLK_TCK")


class RootedHost(LiveHost):
    """A live host whose sysfs and procfs stand below a folder."""

    def __init__(self, root: Path, devices: tuple[UdevDevice, ...]) -> None:
        super().__init__()
        self._root = root
        self._devices = devices

    def read(self, path: str) -> bytes:
        return super().read(f"{self._root}{path}")

    def names(self, path: str) -> tuple[str, ...]:
        return super().names(f"{self._root}{path}")

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        return tuple(d for d in self._devices if d.subsystem == subsystem)


def busy_laptop() -> FakeHost:
    """More meters than most: eight cores, three chips, two fans."""
    host = laptop()
    devices = list(host.devices)
    for chip, count in (("coretemp", 9), ("nvme", 3), ("iwlwifi_1", 1)):
        folder = f"{SYS}/hwmon-{chip}"
        files: dict[str, str | int] = {"name": chip, "fan1_input": 2400}
        for k in range(1, count + 1):
            files |= {f"temp{k}_input": 52_000 + k, f"temp{k}_crit": 100_000}
            files |= {f"temp{k}_label": f"Sensor {k}"}
        host.files |= attributes(folder, **files)
        devices.append(device("hwmon", f"hwmon-{chip}", folder))
    for core in range(8):
        folder = f"/sys/devices/system/cpu/cpu{core}/cpufreq"
        host.files |= attributes(folder, scaling_cur_freq=1_900_000 + core)
    return FakeHost(host.files, devices)


def rooted(folder: Path) -> RootedHost:
    """The same laptop as files."""
    made = busy_laptop()
    for path, content in made.files.items():
        file = folder / path.lstrip("/")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content if isinstance(content, bytes) else str(content).encode())
    return RootedHost(folder, made.devices)


def _cpu(pid: int) -> float:
    """Processor seconds so far (proc(5))."""
    fields = Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def _sent(folder: Path) -> int | None:
    """Bytes the drive below a folder was given so far (Documentation/block/stat.rst)."""
    number = folder.stat().st_dev
    try:
        name = f"/sys/dev/block/{os.major(number)}:{os.minor(number)}/stat"
        return int(Path(name).read_text("ascii").split()[6]) * 512
    except OSError:
        return None


def measure(seconds: float, shop: Path | None) -> dict[str, float | int | None]:
    """Run the recorder for some seconds; its cost."""
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryDirectory(dir=shop) as cases:
        host = rooted(Path(folder))
        channels = len(Sampler(host).channels)
        recording = recorder.start(host, Path(cases))
        time.sleep(SETTLE_SECONDS)
        header = _lines(Path(cases))
        os.sync()
        before, sent, begun = _cpu(recording.pid), _sent(Path(cases)), time.monotonic()
        time.sleep(seconds)
        after, took = _cpu(recording.pid), time.monotonic() - begun
        os.sync()
        more = _sent(Path(cases))
        summary = recording.stop()
    line = (summary.bytes_written - header) / max(1, summary.samples)
    alone = shop is not None and sent is not None and more is not None
    return {
        "channels": channels,
        "samples": summary.samples,
        "cpu_share": round((after - before) / took, 5),
        "header_bytes": header,
        "line_bytes": round(line),
        "lines_per_hour": round(line * 3600),
        "drive_per_hour": round(((more or 0) - (sent or 0)) / took * 3600) if alone else None,
    }


def _lines(cases: Path) -> int:
    """Bytes of the header's line."""
    spools = cases.glob(f"{openings.FOLDER}/*/{lines.FILE}")
    return max((len(p.read_bytes().partition(b"\n")[0]) + 1 for p in spools), default=0)


def main() -> int:
    """Measure and print."""
    words = sys.argv[1:]
    seconds = float(words[words.index("--seconds") + 1]) if "--seconds" in words else 30.0
    shop = Path(words[words.index("--shop") + 1]) if "--shop" in words else None
    found = measure(seconds, shop)
    if "--json" in words:
        print(json.dumps(found, indent=1))
        return 0
    for name, value in found.items():
        print(f"{name:18} {value}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
