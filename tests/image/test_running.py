"""The system of the image while it runs, in a machine whose names are all hostile.

One start serves all tests here. The names hold terminal escapes (ECMA-48: CSI 2 J clears a
screen, CSI 31 m colours it, OSC 0 sets a title) and markup of an element and an attribute
that no page of ours has.
"""

from __future__ import annotations

import base64
import gzip
import json
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Final

import pytest

pytest.importorskip("qemu.qmp", reason="qemu.qmp is not installed")
from tests.guided.guest import Shell
from tests.virtual_laptop import screen
from tests.virtual_laptop.guest import FONT

pytestmark = pytest.mark.boot

CLEAR, RED, TITLE = "\x1b[2J", "\x1b[31m", "\x1b]0;owned\x07"
TAG: Final = "<blink onblink=x>"
FIRST_SCREEN: Final = "What is wrong with it?"
SECONDS: Final = 900
UNNAMED: Final = """
import json, re, subprocess
from importlib import metadata
known = json.load(open("/usr/share/doc/livecheck/sbom.cdx.json"))["components"]
named = {(one["name"], one["version"]) for one in known}
debian = subprocess.run(["dpkg-query", "-W", "-f", "${Package} ${Version}\\n"], text=True,
                        capture_output=True, check=True).stdout.splitlines()
python = [f"{one.metadata['Name']} {one.version}" for one in metadata.distributions()
          if "/usr/local/" in str(one.locate_file(""))]
assert len(debian) > 100 and len(python) > 5
print("unnamed:", *sorted({tuple(one.split()) for one in (*debian, *python)} - named))
"""


def hostile() -> list[str]:
    """SMBIOS strings, drives on three buses and a USB descriptor."""
    null = "driver=null-co,size=67108864,read-zeroes=on,node-name="
    return [
        "-smbios", f"type=1,manufacturer={CLEAR}{TAG},product=Tern{RED}&amp;,serial={TITLE}",
        "-smbios", f"type=2,manufacturer={TAG},product={TITLE}{{{{7*7}}}},serial={CLEAR}",
        "-smbios", f"type=3,manufacturer={RED},serial={TAG}",
        "-blockdev", f"{null}bad-ata",
        "-device", f"ide-hd,bus=ide.0,drive=bad-ata,model={CLEAR}{TAG}Fennel,serial={RED}A1",
        "-blockdev", f"{null}bad-nvme", "-device", f"nvme,drive=bad-nvme,serial={TAG}",
        "-blockdev", f"{null}bad-usb",
        "-device", f"usb-storage,bus=xhci.0,drive=bad-usb,serial={TITLE}{TAG}",
        "-device", "usb-bot,id=bot,bus=xhci.0", "-blockdev", f"{null}bad-scsi",
        "-device", f"scsi-hd,bus=bot.0,lun=0,drive=bad-scsi,vendor={RED},product={TAG[:15]}",
    ]  # fmt: skip


class Elements(HTMLParser):
    """Names of the page's elements and attributes, and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names |= {tag, *(name for name, _ in attrs)}

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("running")


@pytest.fixture(scope="module")
def shell(image: Path, folder: Path) -> Iterator[Shell]:
    guest = Shell(image, folder, hostile())
    try:
        guest.ready()
        yield guest
    finally:
        guest.close()


def lines(shell: Shell, folder: Path) -> list[str]:
    """The first console, read glyph by glyph."""
    file = folder / "screen.ppm"
    shell.tell("screendump", filename=str(file))
    return screen.read(screen.Picture(file.read_bytes()), FONT)


@pytest.fixture(scope="module")
def first(shell: Shell, folder: Path) -> list[str]:
    """The first screen, once it has looked at the machine."""
    for _ in range(SECONDS // 5):
        shown = lines(shell, folder)
        if any("Cases are kept in" in line for line in shown):
            return shown
        shell.listen(5)
    raise AssertionError("no first screen; it shows:\n" + "\n".join(shown))


def test_nothing_listens(shell: Shell) -> None:
    """No socket waits for anybody (ss of iproute2)."""
    assert shell.run("ss -Hlntup").strip() == ""


def test_console_and_shell_without_a_login(shell: Shell, first: list[str]) -> None:
    """Both run by themselves; no program that asks for a name does; nothing has failed."""
    assert shell.run("systemctl is-active livecheck@tty1 root-shell@tty2").split() == ["active"] * 2
    running = set(shell.run("cat /proc/[0-9]*/comm 2>/dev/null; true").split())
    assert "systemd" in running
    assert not {"agetty", "getty", "login", "systemd-logind"} & running
    assert shell.run("systemctl --failed --no-legend --plain").strip() == ""


def test_nothing_acts_by_itself(shell: Shell, first: list[str]) -> None:
    """No swap, no volume or array, no mount but the stick's, no network manager; keys and
    lid switches are left to the checks; every other drive is closed to writing."""
    # The first line is the head of the table.
    assert shell.run("tail -n +2 /proc/swaps").strip() == ""
    assert shell.run("ls /sys/block | grep -E '^(md|dm-)'; true").strip() == ""
    off = "systemctl is-enabled systemd-rfkill.service systemd-rfkill.socket systemd-logind.service"
    assert shell.run(f"{off}; true").split() == ["masked"] * 3
    for name in ("NetworkManager", "wpa_supplicant", "iwd", "connmand", "dhclient", "dhcpcd",
                 "mdadm", "lvm", "cryptsetup", "udisksctl"):  # fmt: skip
        assert shell.run(f"command -v {name}; true").strip() == "", name
    assert shell.run("systemctl is-active systemd-networkd; true").strip() == "inactive"
    stick = shell.run("lsblk -no PKNAME $(findmnt -no SOURCE /run/live/medium)").split()[0]
    mounted = shell.run("findmnt -rno SOURCE | grep ^/dev/ | sort -u").split()
    assert all(m.startswith((f"/dev/{stick}", "/dev/loop")) for m in mounted), mounted
    rows = [row.split() for row in shell.run("lsblk -rno NAME,RO").splitlines() if row.strip()]
    others = {name: closed for name, closed in rows if not name.startswith((stick, "loop"))}
    assert len(others) >= 4
    assert set(others.values()) == {"1"}, others


def test_kernel_does_not_draw_over_the_screen(shell: Shell) -> None:
    """Messages below the first number would (Documentation/admin-guide/sysctl/kernel.rst)."""
    assert shell.run("cat /proc/sys/kernel/printk").split()[0] == "0"


def test_sound_library_is_there(shell: Shell) -> None:
    assert "here" in shell.python("import ctypes; ctypes.CDLL('libasound.so.2'); print('here')")


def test_no_program_runs_with_anothers_rights(shell: Shell) -> None:
    assert shell.run("find / -xdev -type f -perm /6000").strip() == ""


def test_the_bill_of_materials_names_what_runs(shell: Shell) -> None:
    """Against dpkg and Python's own look at what is installed; the loaders lie beside them."""
    assert shell.python(UNNAMED).split() == ["unnamed:"]


def test_man_pages_are_there(shell: Shell) -> None:
    assert "take-out" in shell.run("mman -c livecheck-take-out")


def test_names_stay_text_on_the_screen(shell: Shell, first: list[str]) -> None:
    """The screen is whole, in its own places, and shows the escapes as text. A cell that is
    no glyph of the font, as half a control sequence would leave, reads as U+FFFD."""
    whole = "\n".join(first)
    assert screen.UNREAD not in whole, whole
    assert first[0].strip().startswith("livecheck : start : ")
    release = shell.run("livecheck --version").split(maxsplit=1)[1].strip()
    assert release in first[0] and "(20" in release
    assert f"[U+001B][2J{TAG}" in whole
    assert "Tern[U+001B][31m&amp;:" in whole
    assert FIRST_SCREEN in whole and "no complaint: intake check" in whole


def test_names_stay_text_in_the_report(shell: Shell, first: list[str], folder: Path) -> None:
    """A run saved, its report parsed by the standard library: no element, attribute or
    control character of the names; what is printed holds no escape either."""
    run = "livecheck run --complaint intake --probes passive --json 2>/tmp/told"
    case = json.loads(shell.run(f"{run} | tr -d '\\n'; echo", 900).strip().splitlines()[-1])
    quoted = f"'{case['case_folder']}'"
    told = shell.run(f"cat /tmp/told; livecheck locate {quoted}", 300)
    assert "\x1b" not in told and "\x07" not in told
    path = shell.run(f"livecheck report {quoted}", 300).strip().splitlines()[-1]
    packed = shell.run(f"gzip -c '{path}' | base64 -w 0; echo", 300).split()[-1]
    html = gzip.decompress(base64.b64decode(packed)).decode()
    (folder / "report.html").write_text(html)
    page = Elements(html)
    assert not {"blink", "onblink"} & page.names
    assert not [c for c in html if (c < " " and c not in "\n\t") or "\x7f" <= c <= "\x9f"]
    for text in (f"[U+001B][2J{TAG}", "[U+001B]]0;owned[U+0007]", "{{7*7}}"):
        assert text in page.text, text


def test_console_comes_back(shell: Shell, first: list[str]) -> None:
    """However livecheck ends, it is started again."""
    shell.run("systemctl --no-ask-password kill -s KILL livecheck@tty1 </dev/null; sleep 4")
    assert shell.run("systemctl show -P NRestarts livecheck@tty1").strip() == "1"
    assert shell.run("systemctl is-active livecheck@tty1").strip() == "active"
