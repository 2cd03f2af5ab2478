"""Wireless, actively: each radio is switched on, listens once, and is left as it was.

Nothing is connected to. Where the rules allow it the card asks which networks are there;
on all other channels it only listens. At full depth it listens once more while the machine
is hot under load: a card, a lead or a solder joint may fail with heat alone.
"""

from __future__ import annotations

import errno
import time
from collections.abc import Iterator
from typing import Final

import msgspec

from livecheck.capture import CapturedHost
from livecheck.host import Host, RadioHost, Unreadable, text
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.bus import hot_links
from livecheck.probes.bus.hot_judge import MIN_RISE
from livecheck.probes.bus.pcie import COUNTERS, facts
from livecheck.probes.control import StopRequest
from livecheck.probes.heat import limits
from livecheck.probes.wireless import bring_up
from livecheck.probes.wireless.card import CARD, Card, gather
from livecheck.probes.wireless.rfkill import Switch, blocked, lifts
from livecheck.probes.wireless.rfkill import read as read_switches
from livecheck.probes.wireless.scan_judge import Scanned, judge, words
from livecheck.radio import decode
from livecheck.radio.nl80211 import STATION
from livecheck.radio.state import Bss, Interface, ScanResult
from livecheck.records import NotTested, Reading

ROUNDS: Final = {"quick": 1, "full": 3, "soak": 3}
"""Scans one after the other: a card that hops too fast misses beacons once, not thrice."""
SCAN_SECONDS: Final = 40.0
TITLE: Final = "Wireless: scan"


def probe(context: Context) -> Iterator[Yield]:
    """Readings of one scan of each wireless card."""
    host, inventory = context.host, context.inventory
    if isinstance(host, CapturedHost) or not isinstance(host, RadioHost):
        yield NotTested(what=TITLE, why="a recorded machine has no radio to listen with")
        return
    if not host.facts().as_root:
        yield NotTested(what=TITLE, why="needs root: the radio has to be switched on")
        return
    radios, interfaces, _, refused = bring_up.query_radios(host)
    if refused is not None:
        yield refused
        return
    switches = read_switches(host, inventory.devices)
    parts = [part for part in inventory.parts if part.kind == CARD]
    with StopRequest() as stop:
        for part in parts:
            card = gather(part, inventory, context.events, radios, interfaces)
            own = [i for i in card.interfaces if i.type == STATION]
            if not own:
                yield NotTested(
                    what=TITLE, why="the card has no interface of a station", at=part.id
                )
            for interface in own[:1]:
                scan = _Scan(context, host, switches, stop)
                yield from scan.card(card, interface)
                if context.depth != "quick" and not stop.asked:
                    yield from scan.hot(card, interface)


class _Scan:
    """Scans of one machine's cards."""

    def __init__(
        self,
        context: Context,
        host: RadioHost,
        switches: tuple[Switch, ...],
        stop: StopRequest,
    ) -> None:
        self._context, self._host = context, host
        self._switches, self._stop = switches, stop

    def hot(self, card: Card, interface: Interface) -> Iterator[Yield]:
        """The same once more under load, its readings marked as hot."""
        context, what = self._context, f"{TITLE}, hot"
        if hot_links.MISSING is not None:
            yield NotTested(what=what, why=f"the compiled load is missing: {hot_links.MISSING}")
            return
        cold = limits.hottest(context.host)
        with hot_links.BackgroundLoad(context, lambda: self._stop.asked) as warmth:
            yield from hot_links.warm_up(context, warmth, lambda: self._stop.asked)
            if warmth.ended is not None:
                yield NotTested(what=what, why=f"the load was ended: {warmth.ended}")
                return
            hot = limits.hottest(context.host)
            rise = hot - cold if hot is not None and cold is not None else None
            for item in self.card(card, interface):
                if isinstance(item, Reading):
                    yield msgspec.structs.replace(item, conditions=_conditions(rise))
                else:
                    yield item

    def card(self, card: Card, interface: Interface) -> Iterator[Yield]:
        """Readings of one scan of a card."""
        host, at = self._context.host, card.part.id
        off = blocked(self._switches, at, "wlan")
        if off is not None:
            yield NotTested(what=TITLE, why=f"{off.name} blocks the radio; {lifts(off)}", at=at)
            return
        yield Progress(says=f"{interface.name} listens")
        chain = _functions(card)
        before = errors(host, chain)
        power = [_power(host, chain, "before")]
        heard = self._listen(interface)
        power.append(_power(host, chain, "after"))
        if self._stop.asked:
            yield NotTested(what=TITLE, why="stopped by the technician", at=at)
            return
        scanned = Scanned(
            card=at,
            name=interface.name,
            radio=next((r for r in card.radios if r.index == interface.radio), None),
            heard=heard,
            errors_before=before,
            errors_after=errors(host, chain),
            power=tuple(p for p in power if p),
        )
        yield from judge(scanned, self._context.knowledge)

    def _listen(self, interface: Interface) -> ScanResult:
        """Switch on, scan, read what was heard, switch off again."""
        begun = time.monotonic()
        host = self._context.host
        came_up: bool | None = False
        try:
            with self._host.switched_on(interface.index) as changed:
                came_up = True if changed else None
                cells: dict[str, Bss] = {}
                for _ in range(ROUNDS[self._context.depth]):
                    _once(self._host, interface.index, self._stop)
                    for cell in decode.cells(host.radio("scan", interface.index)):
                        cells[cell.address] = cell
                survey = _survey(host, interface.index)
            seconds = time.monotonic() - begun
            ordered = sorted(cells.values(), key=lambda c: -(c.dbm or -999.0))
            return ScanResult(cells=tuple(ordered), noise=survey, came_up=came_up, seconds=seconds)
        except Unreadable as error:
            return ScanResult(
                trouble=words(error.errno), came_up=came_up, seconds=time.monotonic() - begun
            )


def _conditions(rise: float | None) -> tuple[str, ...]:
    """Hot only where a sensor says so; without one, what is known is the load."""
    if rise is not None and rise >= MIN_RISE:
        return ("hot", "under load")
    return ("under load",)


def _once(host: RadioHost, index: int, stop: StopRequest) -> None:
    """One scan; a scan of somebody else's is waited for once."""
    try:
        host.scan(index, SCAN_SECONDS, lambda: stop.asked)
    except Unreadable as error:
        if error.errno != errno.EBUSY:
            raise
        time.sleep(5.0)
        host.scan(index, SCAN_SECONDS, lambda: stop.asked)


def _survey(host: Host, index: int) -> dict[str, int]:
    """Noise by channel; drivers that measure none refuse the question."""
    try:
        return decode.noise(host.radio("survey", index))
    except Unreadable:
        return {}


# --- The link meanwhile


def _functions(card: Card) -> tuple[str, ...]:
    """The card's PCI function and the port above it: either end may count an error."""
    function = card.wireless.function
    if function is None or function.subsystem != "pci":
        return ()
    above = facts(function).above
    return (function.name, above) if above is not None else (function.name,)


def errors(host: Host, functions: tuple[str, ...]) -> dict[str, int]:
    """Error counts by function and counter (…/ABI/testing/sysfs-bus-pci-devices-aer_stats)."""
    found: dict[str, int] = {}
    for name in functions:
        for counter in COUNTERS:
            lines = (text(host, f"/sys/bus/pci/devices/{name}/{counter}") or "").splitlines()
            counts = [int(w) for line in lines if not line.startswith("TOTAL")
                      for w in line.split()[-1:] if w.isdigit()]  # fmt: skip
            if lines:
                found[f"{name} {counter.removeprefix('aer_dev_')}"] = sum(counts)
    return found


def _power(host: Host, functions: tuple[str, ...], when: str) -> str:
    """Power state of the card's function (…/ABI/testing/sysfs-bus-pci, power_state)."""
    if not functions:
        return ""
    state = text(host, f"/sys/bus/pci/devices/{functions[0]}/power_state")
    return f"power state {when} the scan: {state}" if state else ""
