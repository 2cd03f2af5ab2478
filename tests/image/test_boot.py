"""The image starts from its own menu, with each kind of firmware; minutes each.

Firmware is SeaBIOS and the OVMF build of Debian; the third is OVMF with Secure Boot
enforced and Microsoft's keys enrolled, as its package ships it.
"""

from __future__ import annotations

import shutil
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


def command(kind: str, image: Path, folder: Path) -> list[str]:
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
        "-machine", "q35,accel=tcg,smm=on", "-cpu", "max", "-smp", "2", "-m", "1024", *firmware,
        "-device", "qemu-xhci",
        "-drive", f"if=none,id=stick,file={stick},format=raw,cache=unsafe",
        "-device", "usb-storage,drive=stick,bootindex=1",
        "-drive", f"if=none,id=internal,file={internal},format=raw",
        "-device", "ide-hd,drive=internal,bus=ide.0",
    ]  # fmt: skip


@pytest.mark.parametrize("kind", FIRMWARE)
def test_starts_to_the_first_screen(kind: str, image: Path, tmp_path: Path) -> None:
    """With 1 GiB of memory; the stick's data partition grows, the internal drive, although
    it carries the very same tables and labels, is never written to."""
    (tmp_path / "page").write_bytes(bytes(4096))
    page = acpi.Page(tmp_path / "page", 0)  # the guest has none; its harness wants one
    with Guest(command(kind, image, tmp_path), tmp_path, page) as guest:
        guest.wait_for(FIRST_SCREEN, SECONDS)
        guest.wait_for("Cases are kept in /media/shopdrive", SECONDS)
        written = guest.written()
    assert written["internal"] == 0
    assert (tmp_path / "internal.img").read_bytes() == image.read_bytes()
    assert written["stick"] > 0
