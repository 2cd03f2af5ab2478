"""From a laptop and its faults to QEMU's command line."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from tests.virtual_laptop import acpi, faults, smbios
from tests.virtual_laptop.laptop import (
    ROOT_PORTS,
    Battery,
    Card,
    Drive,
    Laptop,
    Module,
    Optical,
)
from tests.virtual_laptop.stick import Stick

PAGE: Final = 0x1F00_0000
"""Where the shared page lies: 496 MiB, in the first module of any laptop here."""
NATIVE_HOTPLUG: Final = ["-global", "ICH9-LPC.acpi-pci-hotplug-with-bridge-support=off"]
"""Ports sense their cards and hot-plug by PCI Express, not by ACPI."""
BACKEND: Final = "memory-backend-file,id=ram0,share=on"


def memory_bytes(laptop: Laptop) -> int:
    return sum(m.mib for _, m in laptop.parts("dimm") if isinstance(m, Module)) << 20


def qemu(
    laptop: Laptop, hidden: Sequence[faults.Fault], stick: Stick, folder: Path, append: str
) -> list[str]:
    """The command that starts this laptop from the stick; files it needs go to the folder.

    The kernel is started directly, with what the boot menu's first entry gives it, unless the
    stick is to be started by its menu, which is given the same options.
    """
    memory = folder / "memory"
    with memory.open("wb") as file:
        file.truncate(memory_bytes(laptop))
    line = f"{stick.options()} memmap=64K$0x{PAGE:x} pcie_ports=native {append}"
    command = [
        "nice", "-n", "2", "qemu-system-x86_64", "-nodefaults", "-no-reboot", "-display", "none",
        "-machine", "q35,accel=tcg,memory-backend=ram0,hmat=off", "-cpu", "max", "-smp", "2",
        "-m", f"{memory_bytes(laptop) >> 20}", "-vga", "std", "-net", "none",
        "-object", f"{BACKEND},size={memory_bytes(laptop)},mem-path={memory}",
        *stick.loader(line),
        "-device", "qemu-xhci,id=xhci",
        "-drive", stick.drive(),
        "-device", "usb-storage,bus=xhci.0,drive=stick,serial=STICK1,bootindex=1",
    ]  # fmt: skip
    command += _identity(laptop) + smbios.write(folder, laptop)
    command += _firmware(laptop, hidden, folder)
    command += _slots(laptop, hidden)
    for place, part in sorted(laptop.fitted.items()):
        command += _drive(place, part, laptop, hidden, folder)
    return command


def _identity(laptop: Laptop) -> list[str]:
    def quoted(text: str) -> str:
        return text.replace(",", ",,")

    return [
        "-smbios",
        f"type=1,manufacturer={quoted(laptop.maker)},product={quoted(laptop.product)},"
        f"serial={quoted(laptop.serial)},uuid={laptop.uuid}",
        "-smbios",
        f"type=2,manufacturer={quoted(laptop.maker)},product={quoted(laptop.board)},"
        f"serial={quoted(laptop.board_serial)}",
        "-smbios",
        f"type=3,manufacturer={quoted(laptop.maker)},serial={quoted(laptop.serial)}",
    ]


def _firmware(laptop: Laptop, hidden: Sequence[faults.Fault], folder: Path) -> list[str]:
    battery = laptop.fitted.get("bay")
    table = acpi.compiled(folder, PAGE, battery.serial if isinstance(battery, Battery) else "0")
    options = ["-acpitable", f"file={table}"]
    for fault in hidden:
        if isinstance(fault, faults.WrongClock):
            options += ["-rtc", f"base={fault.start}"]
        if isinstance(fault, faults.BadChecksum):
            broken = folder / "broken.aml"
            # Byte 9 of the header makes all bytes add up to nought (ACPI 6.5, 5.2.6).
            data = bytearray(table.read_bytes())
            data[9] ^= 0xFF
            broken.write_bytes(bytes(data))
            options[-1] = f"file={broken}"
    return options


def _slots(laptop: Laptop, hidden: Sequence[faults.Fault]) -> list[str]:
    """Root ports. Left to ACPI's hotplug, a port's card is sensed and reads all ones: that
    is how a card with no contact looks. It holds for all ports of a start alike."""
    silent = any(isinstance(f, faults.NothingAnswers) and f.place(laptop) for f in hidden)
    return [*([] if silent else NATIVE_HOTPLUG), *root_ports()]


def root_ports() -> list[str]:
    """The board's ports with a slot behind each."""
    options = []
    for number, address in enumerate(ROOT_PORTS):
        if number == 0 and len(ROOT_PORTS) > 1:
            address += ",multifunction=on"
        options += [
            "-device",
            f"pcie-root-port,id=rp{number},bus=pcie.0,addr={address.removeprefix('0000:00:')},"
            f"chassis={number + 1},slot={number + 1}",
        ]  # fmt: skip
    return options


def _drive(
    place: str, part: object, laptop: Laptop, hidden: Sequence[faults.Fault], folder: Path
) -> list[str]:
    sort, _, number = place.partition(":")
    if isinstance(part, Card):
        return ["-device", f"e1000e,id={part.name},bus=rp{number},mac={part.mac}"]
    if not isinstance(part, Drive | Optical):
        return []
    here = [f for f in hidden if f.place(laptop) == place]
    node = part.name
    file = str(_medium(part, folder.parent))
    for fault in here:
        if isinstance(fault, faults.Unreadable):
            file = f"blkdebug:{_error_rules(fault, folder)}:{file}"
    drive = f"if=none,id={node},file={file},format=raw"
    for fault in here:
        if isinstance(fault, faults.Stalls):
            drive += f",throttling.bps-total={fault.bytes_per_second}"
    if isinstance(part, Optical):
        drive += ",media=cdrom" if part.disc else ""
        options = [] if part.disc is False else ["-drive", drive]
        link = f",drive={node}" if part.disc else ""
        return [
            *options,
            "-device",
            f"ide-cd,id=dev-{node},bus=ide.{number}{link},model={part.model}",
        ]
    if sort == "m2":
        device = f"nvme,id=dev-{node},bus=rp{number},drive={node},serial={part.serial}"
    else:
        device = f"ide-hd,id=dev-{node},bus=ide.{number},drive={node},serial={part.serial}"
        device += f",model={part.model}"
    return ["-drive", drive, "-device", device]


def _medium(part: Drive | Optical, folder: Path) -> Path:
    """The part's own medium, made once and kept over the starts of a case.

    A drive is of noise, so that a byte written to it would show in its checksum.
    """
    file = folder / f"{part.name}.medium"
    if not file.exists():
        mib = part.mib if isinstance(part, Drive) else 64
        _noise(file, part.name, mib)
    return file


def _noise(file: Path, name: str, mib: int) -> None:
    source = random.Random(name)
    with file.open("wb") as out:
        for _ in range(mib):
            out.write(source.randbytes(1 << 20))


def _error_rules(fault: faults.Unreadable, folder: Path) -> Path:
    """Rules of QEMU's ``blkdebug``: reading one of these sectors fails, however often."""
    rules = folder / f"unreadable-{fault.at.replace(':', '-')}.conf"
    rules.write_text(
        "".join(
            f'[inject-error]\nevent = "read_aio"\nerrno = "5"\nsector = "{sector}"\n'
            'once = "off"\nimmediately = "off"\n\n'
            for sector in fault.sectors
        )
    )
    return rules
