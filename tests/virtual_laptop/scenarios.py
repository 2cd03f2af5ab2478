"""The cases the score is made of: each a fault hidden from the program."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec

from tests.virtual_laptop import faults
from tests.virtual_laptop.laptop import (
    Adapter,
    Battery,
    Card,
    Cooling,
    Drive,
    Laptop,
    Module,
    Optical,
    place_id,
)
from tests.virtual_laptop.play import Start


class Scenario(msgspec.Struct, frozen=True, kw_only=True):
    name: str
    about: str
    hidden: tuple[faults.Fault, ...]
    starts: tuple[Start, ...]
    side: str
    units: tuple[str, ...] = ()
    """Ids any of which is the unit to be found; empty: none is to be named."""


SATA: Final = Drive(name="alder", serial="HK4402")
OTHER_SATA: Final = Drive(name="birch", serial="HK4417")
NVME: Final = Drive(name="cedar", serial="NV2201")
OTHER_NVME: Final = Drive(name="dogwood", serial="NV2202")
MODULE: Final = Module(name="first", serial="MA0001", mib=1024)
SECOND: Final = Module(name="second", serial="MA0002", mib=1024)
BADS: Final = tuple(range(200_000, 200_064))

SOUND: Final = Laptop(
    fitted={
        "ata:0": SATA,
        "ata:2": Optical(name="tray"),
        "dimm:0": Module(name="first", serial="MA0001"),
        "dimm:1": Module(name="second", serial="MA0002"),
        "jack": Adapter(name="adapter"),
        "bay": Battery(name="battery"),
        "cooling": Cooling(name="cooler"),
    }
)
OTHER_POWER: Final = SOUND.swapped(
    jack=Adapter(name="spare adapter"), bay=Battery(name="new battery", serial="8802")
)
OTHER_MEMORY: Final = OTHER_POWER.swapped(
    dimm_0=Module(name="third", serial="MA0003"), dimm_1=Module(name="fourth", serial="MA0004")
)
SPARE_ADAPTER: Final = ("--answer", f"adapter@{place_id('jack')}=spare")
"""Adapters carry no identity: the bench says which one it is."""
NOBODY: Final = ("--answer", "last start=by itself")
"""The technician stood by when it went off."""
ONLY_INSIDE: Final = ("--answer", "complaint=only in the installed system")
ROOMY: Final = SOUND.swapped(dimm_0=MODULE, dimm_1=SECOND)
"""The system in use takes some 400 MiB: two small modules it would fill by more than half."""
WITH_NVME: Final = SOUND.swapped(m2_0=NVME, ata_0=None, ata_2=None)
WITH_RADIO: Final = SOUND.swapped(m2_1=Card(name="radio"))
WITH_SPARE: Final = SOUND.swapped(m2_1=Card(name="spare", mac="52:54:00:6c:76:09"))
LOADED: Final = "power,heat,kernel,processor,heat-load"
READS: Final = "storage,kernel,pcie,shared-path,storage-read"


def _read(laptop: Laptop, *told: str) -> Start:
    return Start(laptop=laptop, complaint="slow", probes=READS, told=told)


def _look(laptop: Laptop, complaint: str, *told: str) -> Start:
    return Start(laptop=laptop, complaint=complaint, probes="passive", told=told)


def _memory(laptop: Laptop, *told: str) -> Start:
    return Start(
        laptop=laptop, complaint="unstable", probes="kernel,memory-inventory,memory", told=told
    )


def _hot(laptop: Laptop, *told: str) -> Start:
    return Start(laptop=laptop, complaint="switches-off", probes=LOADED, told=told)


def _off(laptop: Laptop, *told: str) -> Start:
    return msgspec.structs.replace(_hot(laptop, *told), lies_off=True)


def _disc(laptop: Laptop) -> Start:
    return Start(laptop=laptop, complaint="part-missing", probes="storage,kernel,optical-read")


def _both(laptop: Laptop) -> Start:
    return Start(laptop=laptop, complaint="slow", probes=f"{READS},power")


def _port(start: Callable[[Laptop], Start]) -> tuple[Start, ...]:
    """Another drive at the first one's port, then the first one at another port."""
    moved = SOUND.swapped(ata_0=OTHER_SATA, ata_1=SATA)
    return start(SOUND), start(SOUND.swapped(ata_0=OTHER_SATA)), start(moved)


def _put_back(start: Callable[[Laptop], Start]) -> tuple[Start, ...]:
    """An NVMe drive, another one in its place, and the first one again."""
    return start(WITH_NVME), start(WITH_NVME.swapped(m2_0=OTHER_NVME)), start(WITH_NVME)


def _card(*told: str) -> tuple[Start, ...]:
    """A card, then a spare one in the same slot; ``told`` holds of the spare."""
    return (_look(WITH_RADIO, "part-missing"), _look(WITH_SPARE, "part-missing", *told))


def _adapter() -> tuple[Start, ...]:
    """Plugged in as the technician sees it, then another one, then the first again."""
    plugged = ("--answer", f"{place_id('jack')}=plugged in")
    other = SOUND.swapped(jack=Adapter(name="spare adapter"))
    first = ("--answer", f"adapter@{place_id('jack')}=original")
    return (
        _look(SOUND, "not-charging", *plugged),
        _look(other, "not-charging", *SPARE_ADAPTER),
        _look(SOUND, "not-charging", *plugged, *first),
    )


def _exchanged() -> tuple[Start, ...]:
    """Two modules, then the same two in each other's slots."""
    return _memory(ROOMY), _memory(ROOMY.swapped(dimm_0=SECOND, dimm_1=MODULE))


ALL: Final = (
    Scenario(
        name="drive-medium",
        about="an NVMe drive with unreadable sectors; another reads well in its place; put back",
        hidden=(faults.Unreadable(at="cedar", sectors=BADS),),
        starts=_put_back(_read),
        side="device",
        units=("drive:NV2201",),
    ),
    Scenario(
        name="sata-port",
        about="two drives fail at one port; the first of them reads well at another",
        hidden=(faults.Unreadable(at="ata:0", sectors=BADS),),
        starts=_port(_read),
        side="controller",
        units=(place_id("ata:0"), "mainboard", "pci:0000:00:1f.2"),
    ),
    Scenario(
        name="sata-drive",
        about="a SATA drive fails at two ports; another one reads well at the first",
        hidden=(faults.Unreadable(at="alder", sectors=BADS),),
        starts=(
            _read(SOUND),
            _read(SOUND.swapped(ata_0=None, ata_1=SATA)),
            _read(SOUND.swapped(ata_0=OTHER_SATA)),
        ),
        side="device",
        units=("drive:HK4402",),
    ),
    Scenario(
        name="nvme-warns",
        about="an NVMe drive warns of itself, another one in its place does not; put back",
        hidden=(faults.Critical(at="cedar"),),
        starts=_put_back(lambda laptop: _look(laptop, "slow")),
        side="device",
        units=("drive:NV2201",),
    ),
    Scenario(
        name="card-missing",
        about="a slot senses its card and nothing answers; another answers there; put back",
        hidden=(faults.NothingAnswers(at="radio"),),
        starts=(*_card(), _look(WITH_RADIO, "part-missing")),
        side="device",
        units=(f"wireless-card@{place_id('m2:1')}", f"expansion-card@{place_id('m2:1')}"),
    ),
    Scenario(
        name="slot-silent",
        about="no card answers in that slot, a known-good one neither",
        hidden=(faults.NothingAnswers(at="m2:1"),),
        starts=_card("--answer", f"{place_id('m2:1')}=spare"),
        side="controller",
        units=(place_id("m2:1"), "mainboard", "pci:0000:00:1c.1"),
    ),
    Scenario(
        name="bit-in-module",
        about="a stuck bit moves along with its module",
        hidden=(faults.StuckBit(at="first"),),
        starts=_exchanged(),
        side="device",
        units=("memory-module:MA0001",),
    ),
    Scenario(
        name="bit-in-slot",
        about="a stuck bit stays in its slot when the modules change places",
        hidden=(faults.StuckBit(at="dimm:0"),),
        starts=_exchanged(),
        side="controller",
        units=(place_id("dimm:0"), "memory-controller", "mainboard"),
    ),
    Scenario(
        name="contact",
        about="sectors cannot be read until the drive is taken out and put back",
        hidden=(faults.Unreadable(at="alder", sectors=BADS, gone_from=2),),
        starts=(_read(SOUND), *2 * (_read(SOUND, "--reseated", place_id("ata:0")),)),
        side="undetermined",
    ),
    Scenario(
        name="adapter",
        about="no supply with one adapter, supply with another, none with the first again",
        hidden=(faults.NoSupply(at="adapter"),),
        starts=_adapter(),
        side="device",
        units=("adapter@jack:ADP1",),
    ),
    Scenario(
        name="battery",
        about="a battery that holds a third of what it was made for, and a new one",
        hidden=(faults.Worn(at="battery"),),
        starts=(
            _look(SOUND, "not-charging"),
            _look(SOUND.swapped(bay=Battery(name="new battery", serial="8802")), "not-charging"),
        ),
        side="device",
        units=("battery:7731",),
    ),
    Scenario(
        name="cooling",
        about="under load the processor grows hot; after cleaning it does not",
        hidden=(faults.RunsHot(at="cooler", gone_from=3),),
        starts=(
            _hot(SOUND),
            _hot(SOUND),
            _hot(SOUND, "--answer", "cooling@cooling=cleaned"),
        ),
        side="device",
        units=("cooling@cooling",),
    ),
    Scenario(
        name="off-while-cool",
        about="the board drops its power while cool and fed, whatever adapter, battery, memory",
        hidden=(faults.SwitchesOff(gone_from=4),),
        starts=(
            _off(SOUND),
            _off(OTHER_POWER, *SPARE_ADAPTER, *NOBODY),
            _off(OTHER_MEMORY, *SPARE_ADAPTER, *NOBODY),
            _hot(OTHER_MEMORY, *SPARE_ADAPTER, *NOBODY),
        ),
        side="controller",
        units=("mainboard", "power-controller"),
    ),
    Scenario(
        name="all-sound",
        about="nothing in the hardware is at fault",
        hidden=(),
        starts=(
            Start(laptop=SOUND, complaint="slow"),
            Start(laptop=SOUND, complaint="slow", told=ONLY_INSIDE),
            Start(laptop=SOUND, complaint="slow", told=ONLY_INSIDE),
        ),
        side="software",
    ),
    Scenario(
        name="optical-drive",
        about="an optical drive cannot read a disc at two ports; another one can at the first",
        hidden=(faults.Unreadable(at="tray", sectors=tuple(range(64_000, 64_064))),),
        starts=(
            _disc(SOUND),
            _disc(SOUND.swapped(ata_2=None, ata_1=SOUND.fitted["ata:2"])),
            _disc(SOUND.swapped(ata_2=Optical(name="other tray", model="Fennel Tray 2"))),
        ),
        side="device",
        units=(f"optical-drive@{place_id('ata:2')}", f"optical-drive@{place_id('ata:1')}"),
    ),
    Scenario(
        name="two-faults",
        about="a SATA port that damages reads, and a worn battery",
        hidden=(faults.Unreadable(at="ata:0", sectors=BADS), faults.Worn(at="battery")),
        starts=_port(_both),
        side="controller",
        units=(place_id("ata:0"), "mainboard", "pci:0000:00:1f.2"),
    ),
)

BY_NAME: Final = {scenario.name: scenario for scenario in ALL}
