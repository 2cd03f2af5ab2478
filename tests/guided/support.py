"""A machine for guided checks, and how to walk through one."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from livecheck import knowledge
from livecheck.guided import Event, Guide, GuideOffer, GuideStep, offered, open_guide
from livecheck.records import (
    CameraFacts,
    Device,
    InputFacts,
    Inventory,
    NetFacts,
    Part,
    Place,
    ScreenFacts,
)

TABLES = knowledge.load()
TABLE = knowledge.guided()


def _place(own: str, kind: str, controller: str | None = None, external: bool = False) -> Place:
    return Place(id=own, kind=kind, name=own, controller=controller, external=external)


def _part(kind: str, place: str, sound_card: str | None = None) -> Part:
    return Part(id=f"{kind}@{place}", kind=kind, name=kind, place=place, sound_card=sound_card)


def _input(name: str, kind: str, component: str, inside: bool = False) -> Device:
    return Device(
        subsystem="input", name=name, path=f"/sys/i/{name}", component=component,
        facts=InputFacts(kind=kind, inside=inside),
    )  # fmt: skip


LAPTOP = Inventory(
    places=(
        _place("usb:1-1", "usb-port", "pci:x", external=True),
        _place("usb:1-2", "usb-port", "pci:x", external=True),
        _place("usb:1-5", "usb-port", "pci:x"),
        _place("mmc:mmc0", "card-slot", external=True),
    ),
    parts=(
        Part(
            id="panel@panel:eDP-1",
            kind="panel",
            name="panel",
            place="panel:eDP-1",
            screen=ScreenFacts(read=True, maker="LNX", width_px=1920),
        ),
        _part("keyboard", "internal:keyboard"),
        _part("touchpad", "internal:touchpad"),
        _part("pointing-stick", "internal:pointing-stick"),
        _part("speaker", "internal:speaker", sound_card="card0"),
        _part("microphone", "internal:microphone", sound_card="card0"),
        _part("camera", "usb:1-5"),
    ),
    devices=(
        Device(subsystem="sound", name="card0", path="/sys/s/card0"),
        Device(subsystem="backlight", name="lamp", path="/sys/b/lamp"),
        Device(subsystem="lid", name="LID0", path="/proc/acpi/button/lid/LID0"),
        Device(subsystem="rtc", name="rtc0", path="/sys/r/rtc0", component="coin-cell@x"),
        Device(subsystem="iio", name="iio:device0", path="/sys/iio/0"),
        Device(
            subsystem="net",
            name="eno1",
            path="/sys/n/eno1",
            component="pci:n",
            facts=NetFacts(),
        ),
        Device(
            subsystem="video4linux",
            name="video0",
            path="/sys/v/video0",
            component="camera@usb:1-5",
            facts=CameraFacts(captures=True),
        ),
        _input("input3", "keyboard", "keyboard@internal:keyboard"),
        _input("input5", "touchpad", "touchpad@internal:touchpad"),
        _input("input6", "mouse", "pointing-stick@internal:pointing-stick", inside=True),
        _input("input7", "mouse", "usb-device@usb:1-1"),
    ),
)


def offer(name: str, inventory: Inventory = LAPTOP) -> GuideOffer:
    """The first check of this name that the machine has the hardware for."""
    return next(o for o in offered(inventory, TABLE) if o.row.name == name)


def open_check(name: str) -> Guide:
    """A guided check, ready to start."""
    return open_guide(offer(name), TABLES, TABLE)


def walk(guide: Guide, events: Iterable[Event]) -> GuideStep:
    """The step after these events."""
    step = guide.start()
    for event in events:
        step = guide.feed(event)
    return step


class At:
    """A technician made of two functions (``livecheck.guided.drive.Technician``)."""

    def __init__(
        self,
        ask: Callable[[GuideStep], Event | None],
        show: Callable[[GuideStep], None] = lambda step: None,
    ) -> None:
        self.ask = ask
        self.show = show
