"""The image starts from its own menu, with each kind of firmware; minutes each.

Firmware is SeaBIOS and the OVMF build of Debian; the third is OVMF with Secure Boot
enforced and Microsoft's keys enrolled, as its package ships it.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Final

import pytest

from tests.virtual_laptop import acpi
from tests.virtual_laptop.guest import Guest

pytestmark = pytest.mark.boot

OVMF: Final = Path("/usr/share/OVMF")
FIRMWARE: Final = {
    "bios": (),
    "uefi": ("OVMF_CODE_4M.fd", "OVMF_VARS_4M.fd"),
    "secure": ("OVMF_CODE_4M.secboot.fd", "OVMF_VARS_4M.ms.fd"),
}
FIRST_SCREEN: Final = "What is wrong with it?"
SECONDS: Final = 900
GROWN_MIB: Final = 1024


def command(kind: str, image: Path, folder: Path, mib: int = 1024) -> list[str]:
    """QEMU with the image on a larger stick, and an internal drive that holds a label
    like the stick's own."""
    stick, internal = folder / "stick.img", folder / "internal.img"
    shutil.copyfile(image, stick)
    with stick.open("r+b") as file:
        file.truncate(GROWN_MIB << 20)
    with image.open("rb") as file:
        internal.write_bytes(file.read(image.stat().st_size))
    firmware: list[str] = []
    for unit, name in enumerate(FIRMWARE[kind]):
        own = folder / name
        shutil.copyfile(OVMF / name, own)
        firmware += ["-drive", f"if=pflash,format=raw,unit={unit},file={own}"]
    if kind == "secure":
        firmware += ["-global", "driver=cfi.pflash01,property=secure,value=on"]
    return [
        "qemu-system-x86_64", "-nodefaults", "-display", "none", "-vga", "std", "-net", "none",
        "-machine", "q35,accel=tcg,smm=on", "-cpu", "max", "-smp", "2", "-m", str(mib), *firmware,
        "-device", "qemu-xhci",
        "-drive", f"if=none,id=stick,file={stick},format=raw,cache=unsafe",
        "-device", "usb-storage,id=plug,drive=stick,bootindex=1",
        "-drive", f"if=none,id=internal,file={internal},format=raw",
        "-device", "ide-hd,drive=internal,bus=ide.0",
    ]  # fmt: skip


@pytest.fixture
def page(tmp_path: Path) -> acpi.Page:
    """The guest has none; its harness wants one."""
    (tmp_path / "page").write_bytes(bytes(4096))
    return acpi.Page(tmp_path / "page", 0)


@pytest.mark.parametrize("kind", FIRMWARE)
def test_starts_to_the_first_screen(
    kind: str, image: Path, tmp_path: Path, page: acpi.Page
) -> None:
    """With 1 GiB of memory; the stick's data partition grows, the internal drive, although
    it carries the very same tables and labels, is never written to."""
    with Guest(command(kind, image, tmp_path), tmp_path, page) as guest:
        guest.wait_for(FIRST_SCREEN, SECONDS)
        guest.wait_for("Cases are kept in /media/shopdrive", SECONDS)
        written = guest.written()
    assert written["internal"] == 0
    assert (tmp_path / "internal.img").read_bytes() == image.read_bytes()
    assert written["stick"] > 0


def chosen(entry: str, stick: Path) -> None:
    """Makes the menu of a stick's copy start that entry, as the arrow keys would."""
    menu = "::/EFI/debian/grub.cfg"
    on = f"{stick}@@2M"
    text = subprocess.run(["mtype", "-i", on, menu], capture_output=True, text=True, check=True)
    titles = re.findall(r'^menuentry "(.*)"', text.stdout, re.MULTILINE)
    (number,) = [n for n, title in enumerate(titles) if title.startswith(entry)]
    changed = stick.with_name("grub.cfg")
    changed.write_text(text.stdout.replace("set default=0", f"set default={number}"))
    subprocess.run(["mcopy", "-o", "-i", on, str(changed), menu], check=True)


def test_from_memory_the_stick_can_be_pulled(image: Path, tmp_path: Path, page: acpi.Page) -> None:
    """Started from memory, the console answers keys with the stick out of its port."""
    line = command("bios", image, tmp_path, 2048)
    chosen("From memory", tmp_path / "stick.img")
    with Guest(line, tmp_path, page) as guest:
        guest.wait_for("Cases are kept in /media/shopdrive", SECONDS)
        guest.tell("device_del", id="plug")
        guest.press("f1")
        guest.wait_for("Choose what the customer complains of", SECONDS)


def test_serial_console(image: Path, tmp_path: Path, page: acpi.Page) -> None:
    """The first screen comes over the first serial port."""
    line = command("bios", image, tmp_path)
    chosen("Serial console", tmp_path / "stick.img")
    with Guest(line, tmp_path, page) as guest:
        guest.until(lambda: FIRST_SCREEN in guest.said(), SECONDS, "the first screen")
