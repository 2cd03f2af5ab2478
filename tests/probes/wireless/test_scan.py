"""A scan on a made-up radio: what is heard, how strongly, on which chain; and what stops it."""

from __future__ import annotations

import contextlib
import errno
from collections.abc import Callable, Iterator

import pytest

from livecheck import knowledge
from livecheck.host import Unreadable
from livecheck.probes import Context
from livecheck.probes.bus import hot_links
from livecheck.probes.heat import limits as heat_limits
from livecheck.probes.wireless import scan
from livecheck.probes.wireless.scan_judge import BAND_RANGES, Scanned, chains, judge
from livecheck.radio import decode
from livecheck.radio.state import Bss, ScanResult
from livecheck.records import Device, Inventory, NotTested, Outcome, Part, PciFacts, Reading
from tests.inventory.fake_host import FakeHost, attributes, device
from tests.radio import messages
from tests.testbeds.devices import RADIOS

TABLES = knowledge.load()
CARD = Part(id="wireless-card:W", kind="wireless-card", name="a card", place="slot:x")
DEVICES = (
    Device(subsystem="pci", name="0000:02:00.0", path="/sys/c", component=CARD.id, driver="d",
           facts=PciFacts(above="0000:00:1c.0")),
    Device(subsystem="net", name="wlan0", path="/sys/c/net/wlan0", component=CARD.id),
    Device(subsystem="ieee80211", name="phy0", path="/sys/c/phy0", component=CARD.id),
)  # fmt: skip
AER = "/sys/bus/pci/devices/0000:00:1c.0/aer_dev_correctable"


class RadioBed(FakeHost):
    """A fake host with one radio that can be switched on."""

    def __init__(self, cells: tuple[bytes, ...], refuse: int = 0, up: bool = False) -> None:
        super().__init__({AER: "RxErr 0\nBadTLP 2\nTOTAL_ERR_COR 2\n"},
                         [device("rfkill", "rfkill0", "/sys/c/phy0/rfkill0")])  # fmt: skip
        self.radios = {**RADIOS, "scan": cells}
        self.refuse, self.up, self.was_up = refuse, up, up
        self.scans = 0
        self.rise = ""

    @contextlib.contextmanager
    def switched_on(self, index: int) -> Iterator[bool]:
        if self.refuse:
            raise Unreadable("interface", self.refuse)
        changed, self.up = not self.up, True
        try:
            yield changed
        finally:
            self.up = self.was_up

    def scan(self, index: int, deadline: float, stopped: Callable[[], bool]) -> None:
        assert self.up and index == 3
        self.scans += 1
        if self.rise:
            self.files[AER] = self.rise


def run(host: FakeHost, depth: str = "quick") -> tuple[dict[str, Reading], list[NotTested]]:
    context = Context(host=host, inventory=Inventory(parts=(CARD,), devices=DEVICES), events=(),
                      knowledge=TABLES, depth=depth)  # fmt: skip
    found = list(scan.probe(context))
    return (
        {r.check: r for r in found if isinstance(r, Reading)},
        [n for n in found if isinstance(n, NotTested)],
    )


CELLS = tuple(
    messages.cell(f"02:00:00:00:0{n}:00", mhz, level, {0: level, 1: level - 3})
    for n, (mhz, level) in enumerate(((2412, -40), (2437, -61), (5180, -55)))
)


@pytest.mark.parametrize("up", [False, True])
def test_a_working_radio_passes_every_check_of_the_scan(up: bool) -> None:
    """All pass, and the interface is left as it was."""
    host = RadioBed(CELLS, up=up)
    found, _ = run(host)
    assert host.up is up and host.scans == 1
    wanted = ("starts", "hears", "signal", "chains", "bands", "scan-link")
    assert {c: found[f"wireless.{c}"].outcome.value for c in wanted} == dict.fromkeys(
        wanted, "passed"
    )
    assert found["wireless.signal"].value == -40
    assert found["wireless.hears"].value == 3


def test_full_depth_listens_longer_and_once_more_hot(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cold without a mark; the second time under load, hot where a sensor says so."""
    monkeypatch.setattr(hot_links, "WARM_SECONDS", {"full": 0.1})
    warmth = iter([40.0, *[70.0] * 9])
    monkeypatch.setattr(heat_limits, "hottest", lambda host: next(warmth))
    host = RadioBed(CELLS)
    context = Context(host=host, inventory=Inventory(parts=(CARD,), devices=DEVICES), events=(),
                      knowledge=TABLES, depth="full")  # fmt: skip
    found = [r for r in scan.probe(context) if isinstance(r, Reading)]
    assert host.scans == 6
    heard = [r.conditions for r in found if r.check == "wireless.hears"]
    assert heard == [(), ("hot", "under load")]


def test_a_radio_that_hears_nothing_fails() -> None:
    """Deaf, or alone: the words say both, and no other reading pretends to know."""
    found, _ = run(RadioBed(()))
    assert found["wireless.hears"].outcome is Outcome.FAILED
    assert "no network is in reach" in found["wireless.hears"].says
    assert "wireless.chains" not in found and "wireless.signal" not in found


def test_a_chain_weaker_at_every_cell_is_a_loose_lead() -> None:
    """Chain 1 is some 25 dB down at every cell."""
    loose = tuple(messages.cell(f"02:00:00:00:0{n}:00", 2412, -45 - n, {0: -45 - n, 1: -70 - n})
                  for n in range(4))  # fmt: skip
    found, _ = run(RadioBed(loose))
    assert found["wireless.chains"].outcome is Outcome.FAILED
    assert found["wireless.chains"].value == 25
    assert "chain 1" in found["wireless.chains"].says


def scanned(*cells: Bss) -> Scanned:
    return Scanned(card="c", name="wlan0", radio=None, heard=ScanResult(cells=cells),
                   errors_before={}, errors_after={})  # fmt: skip


def test_fading_at_one_cell_is_no_loose_lead() -> None:
    """The median over the cells counts; too few cells are not judged."""
    limits = TABLES.checks["wireless.chains"].limits
    cells = [Bss(address=f"{n}", mhz=2412, dbm=-50, chains={"0": -50, "1": -50 - gap})
             for n, gap in enumerate((30, 2, 3))]  # fmt: skip
    assert chains(scanned(*cells), limits).outcome is Outcome.PASSED
    assert chains(scanned(cells[0]), limits).outcome is Outcome.NOT_JUDGED
    bare = Bss(address="x", mhz=2412, dbm=-50)
    assert chains(scanned(bare), limits).outcome is Outcome.NOT_JUDGED


@pytest.mark.parametrize(
    ("number", "word"), [(errno.EIO, "does not answer"), (errno.ETIMEDOUT, "did not end")]
)
def test_a_radio_that_does_not_come_up_fails(number: int, word: str) -> None:
    found, _ = run(RadioBed((), refuse=number))
    assert found["wireless.starts"].outcome is Outcome.FAILED
    assert word in found["wireless.starts"].says


def test_errors_of_the_link_during_the_scan_fail_it() -> None:
    """Counted at the port above the card (sysfs-bus-pci-devices-aer_stats)."""
    host = RadioBed(CELLS)
    host.rise = "RxErr 40\nBadTLP 2\nTOTAL_ERR_COR 42\n"
    found, _ = run(host)
    assert found["wireless.scan-link"].outcome is Outcome.FAILED
    assert found["wireless.scan-link"].value == 40


def test_a_blocked_radio_is_not_tried() -> None:
    host = RadioBed(CELLS)
    host.files |= attributes("/sys/c/phy0/rfkill0", hard=1, soft=0, type="wlan", name="phy0")
    found, missed = run(host)
    assert not found and host.scans == 0
    assert "blocks the radio" in missed[0].why


def test_a_recorded_machine_is_not_scanned() -> None:
    _, missed = run(FakeHost())
    assert missed


def test_every_reading_has_its_row() -> None:
    """Also those of a band nobody sends in."""
    radio = decode.radios(RADIOS["wiphy"])[0]
    one = Scanned(card="c", name="wlan0", radio=radio, errors_before={}, errors_after={},
                  heard=ScanResult(cells=(Bss(address="x", mhz=2412, dbm=-80),)))  # fmt: skip
    found = {r.check: r.outcome for r in judge(one, TABLES)}
    assert set(found) <= set(TABLES.checks)
    assert found["wireless.bands"] is Outcome.NOT_JUDGED
    assert found["wireless.signal"] is Outcome.FAILED


def test_bands_hold_their_channels() -> None:
    """Centres by IEEE 802.11 annex E: 2407 + 5n, 5000 + 5n, 5950 + 5n MHz."""
    for name, first, last, start in (("2.4 GHz", 1, 13, 2407), ("5 GHz", 36, 177, 5000),
                                     ("6 GHz", 1, 233, 5950)):  # fmt: skip
        low, high = BAND_RANGES[name]
        assert low <= start + 5 * first and start + 5 * last <= high
