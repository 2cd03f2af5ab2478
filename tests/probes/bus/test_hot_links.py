"""The cold and hot pair: errors only when hot, errors always, no heat at all; safe limits.

Outside sources: the trip points of the kernel's own thermal documentation
(Documentation/driver-api/thermal/sysfs-api.rst: critical 100000, passive 80000, active
70000 and 60000); Documentation/ABI/testing/sysfs-bus-pci-devices-aer for the counters.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from livecheck import knowledge
from livecheck.probes import Context
from livecheck.probes.bus import hot_links
from livecheck.probes.bus.hot_judge import LINK, MEDIUM, PCIE, SCREEN, Pair, Phase, Target, judge
from livecheck.probes.heat import limits
from livecheck.records import Device, Inventory, NotTested, Outcome, Part, PciFacts, Reading
from tests.displayport.sink import COUNTS, Sink
from tests.inventory.fake_host import FakeHost, device

ZONE = "/sys/devices/virtual/thermal/thermal_zone0"
DRIVE = Target(part="drive:D", name="a drive", block="sda")
CARD = Target(part="card:C", name="a card")


def _zone(celsius: float) -> dict[str, str | bytes | int]:
    """The sample zone of the kernel's documentation, at a temperature."""
    trips = [("critical", 100000), ("passive", 80000), ("active", 70000), ("active", 60000)]
    found: dict[str, str | bytes | int] = {
        f"{ZONE}/type": "acpitz\n",
        f"{ZONE}/temp": f"{celsius * 1000:.0f}\n",
    }
    for number, (kind, milli) in enumerate(trips):
        found[f"{ZONE}/trip_point_{number}_type"] = f"{kind}\n"
        found[f"{ZONE}/trip_point_{number}_temp"] = f"{milli}\n"
    return found


@pytest.mark.parametrize(
    ("celsius", "ends"), [(45, False), (81, False), (94.9, False), (95, True), (101, True)]
)
def test_a_load_ends_before_the_critical_point(celsius: float, ends: bool) -> None:
    """Slowing down (passive, 80 °C) is what a load may bring; 5 K below critical it ends."""
    host = FakeHost(_zone(celsius), [device("thermal", "thermal_zone0", ZONE)])
    assert (limits.too_hot(host) is not None) is ends
    assert limits.hottest(host) == celsius


@pytest.mark.parametrize(
    ("celsius", "limit", "ends"),
    [(96, 100, True), (90, 100, False), (96, 0, False), (127, 100, False), (96, 20, False)],
)
def test_a_chips_own_limit_counts(celsius: float, limit: float, ends: bool) -> None:
    """Limits and readings that are placeholders (0, 127 °C) end nothing."""
    folder = "/sys/devices/platform/coretemp.0/hwmon/hwmon0"
    files = {
        f"{folder}/name": "coretemp\n",
        f"{folder}/temp1_input": f"{celsius * 1000:.0f}\n",
        f"{folder}/temp1_crit": f"{limit * 1000:.0f}\n",
    }
    host = FakeHost(files, [device("hwmon", "hwmon0", folder)])
    assert (limits.too_hot(host) is not None) is ends


@pytest.mark.parametrize(
    ("cold", "hot", "degrees", "outcome"),
    [
        (0, 5, (40, 78), Outcome.FAILED),
        (0, 0, (40, 78), Outcome.PASSED),
        (3, 9, (40, 78), Outcome.NOT_JUDGED),
        (0, 5, (40, 45), Outcome.NOT_JUDGED),
        (0, 5, (None, None), Outcome.NOT_JUDGED),
        (None, None, (40, 78), Outcome.NOT_JUDGED),
    ],
)
def test_only_errors_that_heat_brought_fail(
    cold: int | None, hot: int | None, degrees: tuple[float | None, float | None], outcome: Outcome
) -> None:
    """Only errors that heat brought, in a machine that got hot, are a finding."""
    for target, checks in ((DRIVE, {LINK, MEDIUM}), (CARD, {PCIE})):
        first, second = (
            Phase(celsius=heat, links={target.part: count}, media={target.part: count or 0})
            for heat, count in zip(degrees, (cold, hot), strict=True)
        )
        found = list(judge(target, Pair(cold=first, hot=second)))
        assert {one.check for one in found} == checks
        link = next(one for one in found if one.check != MEDIUM)
        assert link.outcome is outcome
        assert link.conditions == ("cold", "hot")


PORT, CARD_PATH = "/sys/devices/pci0000:00/0000:00:1c.0", "/sys/devices/pci0000:00/0000:01:00.0"


class _Oven(FakeHost):
    """A machine that gets warmer as time goes by, with a link that fails when it is warm."""

    def __init__(self, disk: Path, fails: bool, per_second: float) -> None:
        listed = [device("thermal", "thermal_zone0", ZONE)]
        super().__init__({**_zone(40), "/sys/class/block/sda/size": "8192\n"}, listed)
        self._disk, self._fails = disk, fails
        self._per_second = per_second
        self._begun = time.monotonic()

    def _heat(self) -> float:
        return 40 + self._per_second * (time.monotonic() - self._begun)

    def read(self, path: str) -> bytes:
        if path == f"{ZONE}/temp":
            return f"{self._heat() * 1000:.0f}\n".encode()
        if path == f"{CARD_PATH}/aer_dev_correctable":
            count = int(max(0.0, self._heat() - 50)) if self._fails else 0
            return f"RxErr 0\nBadTLP {count}\nTOTAL_ERR_COR {count}\n".encode()
        return super().read(path)

    def aux(self, device: str, offset: int, length: int) -> bytes:
        """A panel that leaves its counts standing."""
        if offset != COUNTS:
            return Sink().aux(device, offset, length)
        count = int(max(0.0, self._heat() - 50) * 100) if self._fails else 0
        return (0x8000 | min(count, 0x7FFF)).to_bytes(2, "little") + b"\x00\x80" + bytes(4)

    def edid_block(self, device: str) -> bytes:
        """Not asked for here."""
        return Sink().edid_block(device)

    def open_disk(self, device: str) -> int:
        assert device == "/dev/sda"
        return os.open(self._disk, os.O_RDONLY)


def _machine() -> Inventory:
    drive = Part(id=DRIVE.part, kind="drive", name="a drive", place="ata:x:1",
                 block="sda", size_bytes=4 << 20)  # fmt: skip
    card = Part(id=CARD.part, kind="wireless-card", name="a card", place="slot:x")
    port = Device(subsystem="pci", name="0000:00:1c.0", path=PORT)
    function = Device(subsystem="pci", name="0000:01:00.0", path=CARD_PATH, component=card.id,
                      facts=PciFacts(above="0000:00:1c.0"))  # fmt: skip
    panel = Part(id="panel@panel:eDP-1", kind="panel", name="a panel", place="panel:eDP-1")
    channel = Device(subsystem="drm_dp_aux_dev", name="drm_dp_aux0", path="/sys/drm_dp_aux0",
                     component=panel.id)  # fmt: skip
    return Inventory(parts=(drive, card, panel), devices=(port, function, channel))


def _run(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    fails: bool,
    per_second: float,
    reads: float = 0.3,
) -> dict[str, Reading | NotTested]:
    monkeypatch.setattr(hot_links, "READ_SECONDS", {"quick": reads})
    monkeypatch.setattr(hot_links, "WARM_SECONDS", {"quick": 1.5})
    disk = tmp_path / "disk"
    disk.write_bytes(bytes(4 << 20))
    host = _Oven(disk, fails, per_second)
    context = Context(
        host=host, inventory=_machine(), events=(), knowledge=knowledge.load(), depth="quick"
    )
    found: dict[str, Reading | NotTested] = {}
    for one in hot_links.probe(context):
        if isinstance(one, Reading):
            found[one.check] = one
        elif isinstance(one, NotTested):
            found[one.what] = one
    return found


@pytest.mark.slow
def test_a_link_that_fails_only_hot_is_found(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Counters that rise from 50 °C on, in a machine that warms by 10 K a second."""
    found = _run(monkeypatch, tmp_path, fails=True, per_second=10)
    link, medium, screen = found[PCIE], found[MEDIUM], found[SCREEN]
    assert isinstance(link, Reading)
    assert isinstance(screen, Reading)
    assert screen.outcome is Outcome.FAILED
    assert screen.at == "panel@panel:eDP-1" and screen.device == "drm_dp_aux0"
    assert isinstance(medium, Reading)
    assert link.outcome is Outcome.FAILED
    assert link.details[0].startswith("cold: 0 errors")
    assert medium.outcome is Outcome.PASSED
    assert "bytes read" in medium.details[1]


@pytest.mark.slow
def test_a_screen_is_counted_though_no_time_is_left_to_watch_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A drive may be read until the time is over: counts need a look before it and one after."""
    screen = _run(monkeypatch, tmp_path, fails=True, per_second=10, reads=0.0)[SCREEN]
    assert isinstance(screen, Reading)
    assert screen.outcome is not Outcome.NOT_JUDGED, screen.why_not


@pytest.mark.slow
def test_a_machine_that_stays_cool_proves_nothing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Without heat there is no pair."""
    found = _run(monkeypatch, tmp_path, fails=True, per_second=0)
    link = found[PCIE]
    assert isinstance(link, Reading)
    assert link.outcome is Outcome.NOT_JUDGED


@pytest.mark.slow
def test_the_load_ends_at_the_limit(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A machine that would pass its critical point: the load ends before, and it is told."""
    found = _run(monkeypatch, tmp_path, fails=False, per_second=40)
    link = found[PCIE]
    assert isinstance(link, Reading)
    assert any("the load ended early" in line for line in link.details)
