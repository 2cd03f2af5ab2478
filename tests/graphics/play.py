"""One attack played through the live path, in a process of its own that a library is put before.

``python -m tests.graphics.play HOT-FILE``: prints the run and the verdict, as JSON.
"""

from __future__ import annotations

import dataclasses
import sys
import time
from pathlib import Path
from typing import Final

import msgspec

from livecheck import knowledge
from livecheck.diagnosis import locate
from livecheck.graphics import work
from livecheck.graphics.messages import SOFTWARE
from livecheck.plan import Plan
from livecheck.probes.display import load
from livecheck.records import Complaint, Location, Run
from livecheck.run import RunContext, take_run
from tests.testbeds import devices
from tests.testbeds.bed import Bed, BedHost, Node
from tests.testbeds.screens import with_panel

CHIP: Final = "pci:0000:00:02.0"
SENSOR: Final = f"{devices.ROOT}/0000:00:02.0/hwmon/hwmon7"
COLD, RISE = 45_000, 30_000
"""Thousandths of a degree, as hwmon gives them (Linux, hwmon/sysfs-interface.rst)."""


class Played(msgspec.Struct, frozen=True):
    """What came of an attack."""

    run: Run
    verdict: Location


class WarmingHost(BedHost):
    """Its one sensor rises at once when it is told to; then the file is there."""

    def __init__(self, bed: Bed, hot: Path | None, after: float) -> None:
        super().__init__(bed)
        self._hot, self._at = hot, time.monotonic() + after

    def read(self, path: str) -> bytes:
        if path == f"{SENSOR}/temp1_input" and self._hot and time.monotonic() > self._at:
            self._hot.touch()
            return f"{COLD + RISE}\n".encode()
        return super().read(path)


def bed() -> Bed:
    """A sound laptop whose graphics chip is Mesa's renderer for the processor."""
    sensor = {"name": "graphics", "temp1_input": str(COLD), "temp1_label": "edge"}
    nodes = (
        Node("hwmon", SENSOR, sensor),
        Node("drm", f"{devices.ROOT}/0000:00:02.0/drm/renderD128", {}, {"DEVNAME": SOFTWARE}),
    )
    made = with_panel()
    return dataclasses.replace(made, nodes=(*made.nodes, *nodes))


def main(hot: str, seconds: str) -> None:
    """Play it, with times that suit a test, and a picture that a processor draws soon."""
    work.PICTURE_SIDE = work.Picture.row = 256  # type: ignore[misc]
    load.SECONDS = dict.fromkeys(load.SECONDS, float(seconds))  # type: ignore[misc]
    load.SILENCE = load.AT_START = 15.0  # type: ignore[misc]
    host = WarmingHost(bed(), Path(hot) if hot else None, float(seconds) / 2)
    plan = Plan(complaint=Complaint.WRONG_PICTURE, probes=("display-load",))
    tables = knowledge.load()
    run = take_run(RunContext(host=host, plan=plan, knowledge=tables))
    numbered = msgspec.structs.replace(run, number=1)
    verdict = locate("attack", [numbered], tables)
    sys.stdout.buffer.write(msgspec.json.encode(Played(numbered, verdict)))


if __name__ == "__main__":
    main(*sys.argv[1:])
