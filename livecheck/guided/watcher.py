"""The shell around a guided check: watches what its step names, and acts once where it asks."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from typing import Final

from livecheck import kernel_log
from livecheck.guided.bench import CannotAct, GuideBench
from livecheck.guided.bench import parse as parse_events
from livecheck.guided.events import Acted, Event, Frames, Heard, Ranges, Tick
from livecheck.guided.input_codes import Abs
from livecheck.guided.screen_watch import ScreenLinks
from livecheck.guided.sights import (
    CardSeen,
    ClockSeen,
    LidSeen,
    LinkSeen,
    SensorSeen,
    UsbSeen,
    UsbSight,
)
from livecheck.guided.steps import Act, GuideStep, Watch
from livecheck.host import Host, Unreadable, number, text
from livecheck.inventory import mmc, usb
from livecheck.inventory.tree import Seen
from livecheck.records import Inventory, UsbFacts

LOOK_SECONDS: Final = 0.5
"""Between two looks at what the kernel sends no events for."""


class Watcher:
    """Use as a context manager: leaving it gives back every device and setting."""

    def __init__(self, host: Host, bench: GuideBench, clock: Callable[[], float] = time.monotonic):
        self._host, self._bench, self._clock = host, bench, clock
        self._open: dict[tuple[str, bool], list[tuple[int, str]]] = {}
        self._kept = ExitStack()
        self._brightness: dict[str, int] = {}
        self._looked = -LOOK_SECONDS
        self._ticked = clock()
        self._log_from: float | None = None
        self._lost: list[str] = []
        self._screens = ScreenLinks(host)

    def __enter__(self) -> Watcher:
        return self

    def __exit__(self, *_: object) -> None:
        self._release({})
        for folder in list(self._brightness):
            self._restore(folder)
        self._kept.close()

    @property
    def troubles(self) -> tuple[str, ...]:
        """What could not be watched, and why."""
        return tuple(self._lost)

    # --- Watching

    def poll(self, step: GuideStep) -> tuple[Event, ...]:
        """What happened since the last call; never waits."""
        now = self._clock()
        events: list[Event] = list(self._inputs(step))
        if now - self._looked >= LOOK_SECONDS:
            self._looked = now
            for watch in step.watch:
                events += self._look(watch, now)
        if events:
            self._ticked = now
        elif step.tick is not None and now - self._ticked >= step.tick:
            self._ticked = now
            events.append(Tick(seconds=now))
        return tuple(events)

    def _inputs(self, step: GuideStep) -> Iterator[Event]:
        wanted = {(w.path, w.alone): w for w in step.watch if w.kind == "input" and w.path}
        self._release(wanted)
        for key in wanted:
            if key not in self._open:
                self._open[key] = list(self._opened(*key))
            for descriptor, node in list(self._open[key]):
                try:
                    yield from parse_events(self._bench.read(descriptor), node)
                except CannotAct as error:
                    self._open[key].remove((descriptor, node))
                    self._bench.close(descriptor)
                    self._lost.append(str(error))

    def _opened(self, path: str, alone: bool) -> Iterator[tuple[int, str]]:
        for node in self._nodes(path):
            try:
                yield self._bench.events(node, alone), node
            except CannotAct as error:
                self._lost.append(str(error))

    def _nodes(self, path: str) -> tuple[str, ...]:
        """Device nodes of the event devices under an input device's path."""
        return tuple(
            d.properties["DEVNAME"]
            for d in self._host.udev("input")
            if d.path.startswith(f"{path}/") and re.fullmatch(r"event\d+", d.name)
            if "DEVNAME" in d.properties
        )

    def _release(self, wanted: dict[tuple[str, bool], Watch]) -> None:
        for key in [key for key in self._open if key not in wanted]:
            for descriptor, _ in self._open.pop(key):
                self._bench.close(descriptor)

    def _look(self, watch: Watch, now: float) -> Iterator[Event]:
        host, path = self._host, watch.path
        if watch.kind == "usb":
            yield self._usb(now)
        elif watch.kind == "card":
            yield _cards(host, now)
        elif watch.kind == "lid":
            word = (text(host, f"{path}/state") or "").rpartition(":")[2].strip()
            yield LidSeen(seconds=now, open={"open": True, "closed": False}.get(word))
        elif watch.kind == "link":
            yield _link(host, path, now)
        elif watch.kind == "screen-link":
            yield self._screens.look(path, now)
        elif watch.kind == "sensor":
            yield _sensor(host, path, now)
        elif watch.kind == "clock":
            yield ClockSeen(seconds=now, epoch=number(host, f"{path}/since_epoch"))

    def _usb(self, now: float) -> UsbSeen:
        found = usb.find(self._host, Seen())
        speeds = {
            d.component: d.facts.speed_mbps for d in found.devices if isinstance(d.facts, UsbFacts)
        }
        sights = [
            UsbSight(
                name=part.usb or "",
                place=part.place,
                speed=speeds.get(part.id),
                usb_id=part.usb_id or "",
                serial=part.serial,
                title=" ".join(w for w in (part.vendor, part.model) if w),
            )
            for part in found.parts
        ]
        counts = {p.id: p.over_current_count for p in found.places}
        inventory = Inventory(places=found.places, parts=found.parts, devices=found.devices)
        return UsbSeen(
            seconds=now,
            devices=tuple(sights),
            over_current={k: v for k, v in counts.items() if v is not None},
            messages=tuple(self._complaints(inventory)),
        )

    def _complaints(self, inventory: Inventory) -> Iterator[tuple[str, str]]:
        """New serious kernel messages about a port or what is in it."""
        try:
            messages = self._host.kernel_log()
        except Unreadable:
            return
        last = max((m.seconds for m in messages), default=0.0)
        since, self._log_from = self._log_from, last
        if since is None:
            return
        new = [m for m in messages if m.seconds > since]
        places = {part.id: part.place for part in inventory.parts}
        for event in kernel_log.attach(kernel_log.events(new), inventory):
            if event.serious and event.component is not None and event.subsystem == "usb":
                yield places.get(event.component, event.component), event.raw

    # --- Acting

    def act(self, act: Act) -> Event:
        """Do it, once; what came of it, or why it could not be."""
        try:
            return self._act(act)
        except CannotAct as error:
            why = str(error)
        if act.kind == "range":
            return Ranges(number=act.number, x=None, y=None)
        if act.kind == "listen":
            return Heard(number=act.number, why_not=why)
        if act.kind == "frames":
            return Frames(number=act.number, why_not=why)
        return Acted(number=act.number, why_not=why)

    def _act(self, act: Act) -> Event:
        bench = self._bench
        if act.kind == "range":
            return self._ranges(act)
        if act.kind == "listen":
            return bench.listen(act.number, act.device, act.hertz, act.seconds, act.level)
        if act.kind == "frames":
            return bench.frames(act.number, self._node(act.path, "video4linux"))
        if act.kind == "tone":
            bench.play(act.device, act.hertz, act.seconds, act.level, act.channel)
        elif act.kind == "backlight" and act.restore:
            self._restore(act.path)
        elif act.kind == "backlight":
            self._light(act)
        elif act.kind == "up":
            index = number(self._host, f"{act.path}/ifindex")
            if index is None:
                raise CannotAct("the interface is gone")
            self._kept.enter_context(bench.switched_on(index))
        return Acted(number=act.number)

    def _ranges(self, act: Act) -> Ranges:
        for node in self._nodes(act.path):
            # A slot axis makes the multitouch protocol; its own axes then count.
            multitouch = self._bench.axis(node, Abs.MT_SLOT) is not None
            x, y = (Abs.MT_X, Abs.MT_Y) if multitouch else (Abs.X, Abs.Y)
            return Ranges(number=act.number, x=self._bench.axis(node, x),
                          y=self._bench.axis(node, y), multitouch=multitouch)  # fmt: skip
        raise CannotAct("no event device belongs to it")

    def _node(self, path: str, subsystem: str) -> str:
        for device in self._host.udev(subsystem):
            if device.path == path and "DEVNAME" in device.properties:
                return device.properties["DEVNAME"]
        raise CannotAct("its device node is gone")

    def _light(self, act: Act) -> None:
        most = number(self._host, f"{act.path}/max_brightness")
        now = number(self._host, f"{act.path}/brightness")
        if not most or now is None:
            raise CannotAct("the backlight does not say how bright it can be")
        self._brightness.setdefault(act.path, now)
        # One step is the least: 0 switches some panels off.
        self._bench.set_brightness(act.path, max(1, round(act.level * most)))
        self._host.wait(act.seconds)

    def _restore(self, folder: str) -> None:
        value = self._brightness.pop(folder, None)
        if value is not None:
            self._bench.set_brightness(folder, value)


def _cards(host: Host, now: float) -> CardSeen:
    found = mmc.find(host, Seen())
    sizes: dict[str, str] = {}
    for disk in host.udev("block"):
        slot = re.search(r"/(mmc\d+)/mmc\d+:", disk.path)
        sectors = number(host, f"{disk.path}/size")
        if slot and sectors and re.fullmatch(r"mmcblk\d+", disk.name):
            sizes[f"mmc:{slot[1]}"] = str(sectors * 512)
    return CardSeen(
        seconds=now,
        cards=tuple((p.place, p.name, sizes.get(p.place, "")) for p in found.parts),
    )


ERRORS: Final = ("rx_errors", "tx_errors", "rx_crc_errors", "tx_carrier_errors")


def _link(host: Host, path: str, now: float) -> LinkSeen:
    """…/ABI/testing/sysfs-class-net: ``carrier`` cannot be read while the interface is down."""
    carrier = number(host, f"{path}/carrier")
    errors = [number(host, f"{path}/statistics/{name}") for name in ERRORS]
    return LinkSeen(
        seconds=now,
        carrier=None if carrier is None else bool(carrier),
        speed=number(host, f"{path}/speed"),
        duplex=text(host, f"{path}/duplex"),
        errors=sum(e for e in errors if e is not None),
        packets=number(host, f"{path}/statistics/rx_packets"),
    )


def _sensor(host: Host, path: str, now: float) -> SensorSeen:
    """…/ABI/testing/sysfs-bus-iio: raw values, which are enough to see a change."""
    values = {}
    for name in host.names(path):
        channel = re.fullmatch(r"in_(\w+?)_(?:raw|input)", name)
        value = text(host, f"{path}/{name}") if channel else None
        # Plain figures, as the kernel writes them: float() takes inf and 1e308, too.
        if channel and value is not None and re.fullmatch(r"-?[0-9]{1,20}(?:\.[0-9]+)?", value):
            values[channel[1]] = float(value)
    return SensorSeen(seconds=now, values=values)
