"""The pieces that run before livecheck: options of the kernel line, search for the stick,
fonts, write protection. None of them needs a boot to be wrong."""

from __future__ import annotations

import gzip
import os
import re
import subprocess
from pathlib import Path

import pytest

from livecheck import cli, knowledge, languages

BUILD = Path(__file__).parents[2] / "image-build"
OVERLAY = BUILD / "overlay"
FONTS = Path("/usr/share/consolefonts")


@pytest.mark.parametrize(
    ("line", "name", "value"),
    [
        ("boot=live quiet livecheck.shell=ttyS1", "shell", "ttyS1"),
        # Two ways to quote (kernel, Documentation/admin-guide/kernel-parameters.rst;
        # the boot loader turns the first into the second).
        ('livecheck.args="run --ticket 7" quiet', "args", "run --ticket 7"),
        ('"livecheck.args=run --ticket 7" quiet', "args", "run --ticket 7"),
        ("livecheck.share=//a/b livecheck.share=//c/d", "share", "//c/d"),
        ("livecheck.poweroff", "poweroff", ""),
        ("livecheck.argsx=1 xlivecheck.args=2", "args", None),
        ("quiet", "args", None),
        # lib/cmdline.c, next_arg: only double quotes quote, and only blanks outside them part.
        ("livecheck.args=O'Neil quiet livecheck.shell=ttyS1", "shell", "ttyS1"),
        ('livecheck.args="run --ticket O\'Neil" quiet', "args", "run --ticket O'Neil"),
        ("x='a b' livecheck.shell=ttyS1", "shell", "ttyS1"),
        ("livecheck.share=//a/b\\c livecheck.poweroff", "share", "//a/b\\c"),
        ('livecheck.args="run', "args", "run"),
        ("livecheck.args= quiet", "args", ""),
    ],
)
def test_option_of_the_kernel_line(tmp_path: Path, line: str, name: str, value: str | None) -> None:
    """What the option says; status 1 when it is not there."""
    file = tmp_path / "cmdline"
    file.write_text(line + "\n")
    done = subprocess.run(
        ["sh", str(OVERLAY / "usr/lib/livecheck/boot-option"), name],
        env={**os.environ, "KERNEL_LINE": str(file)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.stdout.removesuffix("\n") if done.returncode == 0 else None) == value


@pytest.mark.parametrize(
    ("line", "unit", "words"),
    [
        ("quiet", "livecheck@tty1.service", None),
        ("quiet livecheck.blind", "livecheck@tty1.service", "blind"),
        ("livecheck.blind livecheck.console=ttyS0", "livecheck@ttyS0.service", "blind"),
        ("livecheck.blindly", "livecheck@tty1.service", None),
        ('livecheck.args="run" livecheck.blind', "livecheck-unattended.service", None),
        ("livecheck.language=de", "livecheck@tty1.service", "--language de"),
        ("livecheck.language=es livecheck.blind", "livecheck@tty1.service", "--language es blind"),
        ("livecheck.language=klingon", "livecheck@tty1.service", None),
        ('livecheck.language="de ;reboot"', "livecheck@tty1.service", None),
        ("livecheck.language", "livecheck@tty1.service", None),
    ],
)
def test_what_the_kernel_line_starts(
    tmp_path: Path, line: str, unit: str, words: str | None
) -> None:
    """As systemd reads it: a drop-in empties the list of commands, then names its own
    (systemd.service(5), ExecStart)."""
    (tmp_path / "cmdline").write_text(line + "\n")
    option = OVERLAY / "usr/lib/livecheck/boot-option"
    script = (OVERLAY / "usr/lib/systemd/system-generators/livecheck-options").read_text()
    script = script.replace("/usr/lib/livecheck/boot-option", f"sh {option}")
    units = tmp_path / "units"
    environment = {**os.environ, "KERNEL_LINE": str(tmp_path / "cmdline")}
    subprocess.run(["sh", "-c", script, "sh", str(units)], env=environment, check=True)
    assert [one.name for one in (units / "multi-user.target.wants").iterdir()] == [unit]
    dropped = list(units.glob("*.service.d/*.conf"))
    assert [one.parent.name for one in dropped] == ([f"{unit}.d"] if words else [])
    for file in dropped:
        assert file.read_text().splitlines() == [
            "[Service]", "ExecStart=", f"ExecStart=/usr/local/bin/livecheck {words}"
        ]  # fmt: skip
        cli.parser().parse_args((words or "").split())


def test_the_menu_offers_each_language() -> None:
    """Beside the first entry, which starts by itself and leaves it to the shop's file."""
    menu = (BUILD / "boot/grub.cfg").read_text("utf-8")
    entries = re.findall(r'^menuentry "([^"]*)".*{\n\s+start(.*)$', menu, re.MULTILINE)
    assert entries[0] == ("Check this laptop: @RELEASE@", "")
    offered = [options.partition("livecheck.language=")[2] for _, options in entries]
    assert [one for one in offered if one] == list(languages.LANGUAGES[1:])
    # GRUB's own font in a BIOS's text mode has no other letters.
    assert menu.isascii()


def test_no_entry_of_the_menu_is_cut_off() -> None:
    """GRUB 2.12 in 80 columns shows 74 characters of one and an arrow, seen on the serial port."""
    told = "livecheck 10.10.10 (2026-03-01, 1a2b3c4)"
    menu = (BUILD / "boot/grub.cfg").read_text("utf-8").replace("@RELEASE@", told)
    titles = re.findall(r'^menuentry "([^"]*)"', menu, re.MULTILINE)
    assert [title for title in titles if len(title) > 74] == []


@pytest.mark.parametrize(("key", "least"), [("P", 4), ("T", 3)])
def test_the_menu_starts_what_a_setting_asks_for(key: str, least: int) -> None:
    """What a row tells to start with by a key, that key's entry starts with."""
    menu = (BUILD / "boot/grub.cfg").read_text("utf-8").replace("\\\n", " ")
    (entry,) = re.findall(rf"--hotkey={key.lower()} {{\n\s+start(.*)\n", menu)
    rows = [row.setting for row in knowledge.load().checks.values()]
    asking = [row for row in rows if f"key {key} in the boot menu" in row]
    assert len(asking) >= least
    for row in asking:
        wanted = re.findall(r"\b[a-z_]+(?:\.\w+)?=[\w,-]+", row)
        assert wanted and set(wanted) <= set(entry.split())


SEARCH = """
sleep() { :; }
check_dev() { echo "asked $2" >&2; return 1; }
removable_dev() { echo "listed drives" >&2; }
non_removable_dev() { echo "listed drives" >&2; }
. ./search
LIVE_MEDIA=$1
find_livefs 0
"""


@pytest.mark.parametrize("named", ["", "/dev/null-partition"])
def test_search_looks_at_no_other_drive(tmp_path: Path, named: str) -> None:
    """A stick that does not answer in time is waited for; drives are never tried instead."""
    text = (OVERLAY / "usr/lib/live/boot/9999-own-stick.sh").read_text()
    names = BUILD / "partitions"
    script = text.replace("/usr/lib/livecheck/partitions", str(names)).replace("[ -b", "[ -n")
    script = script.replace("/sys/class/block", str(tmp_path / "block"))
    (tmp_path / "search").write_text(script)
    done = subprocess.run(
        ["sh", "-c", SEARCH, "sh", named], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    guid = re.search(r"SYSTEM_GUID=(\S+)", names.read_text())
    assert guid
    wanted = named or f"/dev/disk/by-partuuid/{guid[1].lower()}"
    assert done.returncode == 1
    assert set(done.stderr.splitlines()) == {f"asked {wanted}"}


@pytest.mark.parametrize(
    ("number", "said"), [(0, ""), (1, "Waiting"), (2, ""), (5, "another port"), (6, "")]
)
def test_what_is_waited_for_is_said(tmp_path: Path, number: int, said: str) -> None:
    """After three seconds and after fifteen, once each: live-boot counts its tries from 0."""
    text = (OVERLAY / "usr/lib/live/boot/9999-own-stick.sh").read_text()
    script = text.replace("/usr/lib/livecheck/partitions", str(BUILD / "partitions"))
    (tmp_path / "search").write_text(script.replace("/sys/class/block", str(tmp_path)))
    done = subprocess.run(
        ["sh", "-c", SEARCH.replace("find_livefs 0", f"find_livefs {number}"), "sh", ""],
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr.count("\n") == (1 if said else 0) and said in done.stderr


@pytest.mark.parametrize(
    ("option", "said"),
    [
        ("quiet", "pull it"),
        ("livecheck.language=de", "ziehen"),
        ("livecheck.language=es", "puerto"),
    ],
)
def test_it_is_said_in_the_language_of_the_menu(tmp_path: Path, option: str, said: str) -> None:
    text = (OVERLAY / "usr/lib/live/boot/9999-own-stick.sh").read_text()
    script = text.replace("/usr/lib/livecheck/partitions", str(BUILD / "partitions"))
    (tmp_path / "cmdline").write_text(f"boot=live {option} quiet\n")
    script = script.replace("/proc/cmdline", str(tmp_path / "cmdline"))
    (tmp_path / "search").write_text(script.replace("/sys/class/block", str(tmp_path)))
    done = subprocess.run(
        ["sh", "-c", SEARCH.replace("find_livefs 0", "find_livefs 5"), "sh", ""],
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert said in done.stderr and done.stderr.count("\n") == 1
    menu = (BUILD / "boot/grub.cfg").read_text("utf-8")
    assert option == "quiet" or menu.count(f'"$1" = {option} ]') == 1


TWINS = """
. ./search
udevadm() { cat "${3#--path=}/udev"; }
sleep() { rm -r block/sdb1; }
check_dev() { return 0; }
SYSTEM_GUID=
find_livefs 0; echo "status $?"
"""


def test_of_two_sticks_of_the_same_name_neither_is_taken(tmp_path: Path) -> None:
    """A card left in the machine may carry another system under our GUID: it is asked to be
    pulled, and the start goes on with the one that stays. Partitions that are none are passed
    over. What is not seen here: udevadm in the initramfs, which only a boot shows."""
    text = (OVERLAY / "usr/lib/live/boot/9999-own-stick.sh").read_text()
    names = BUILD / "partitions"
    guid = re.search(r"SYSTEM_GUID=(\S+)", names.read_text())
    assert guid
    for name, said in (("sda1", guid[1].lower()), ("sdb1", guid[1]), ("sdc1", "0f" * 16)):
        (tmp_path / "block" / name).mkdir(parents=True)
        (tmp_path / "block" / name / "partition").write_text("1\n")
        (tmp_path / "block" / name / "udev").write_text(f"X=1\nID_PART_ENTRY_UUID={said}\n")
    (tmp_path / "block" / "sdd").mkdir()
    script = text.replace("/usr/lib/livecheck/partitions", str(names)).replace("[ -b", "[ -n")
    (tmp_path / "search").write_text(script.replace("/sys/class/block", "block"))
    done = subprocess.run(
        ["sh", "-euc", TWINS.replace("SYSTEM_GUID=\n", "LIVE_MEDIA=\n")],
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stdout == "status 0\n", done.stderr
    told = "Two livecheck sticks or cards: pull the other one out.\n"
    assert done.stderr == f"{told}The stick is there: starting the system on it.\n"
    assert not (tmp_path / "block" / "sdb1").exists()


MOUNT = """
ip() { echo default; }
getent() { echo "192.0.2.10 STREAM server"; }
mount() { printf '%s\\n' "$@"; }
. "$SCRIPT"
"""


@pytest.mark.parametrize(
    ("share", "options", "must", "never"),
    [
        ("//server/bench", "username=b,password=p", "vers=3,seal,username=b,password=p", "guest"),
        ("//server/bench", "", "guest", "seal"),
        ("//server/bench", "unencrypted,username=b", "username=b", "seal"),
        ("server:/srv/bench", "", "vers=4.2", "seal"),
    ],
)
def test_a_share_runs_nothing_here(share: str, options: str, must: str, never: str) -> None:
    """mount(8): nosuid, nodev, noexec; mount.cifs(8): seal. What the kernel is asked for, not
    what a server answers."""
    script = OVERLAY / "usr/lib/livecheck/mount-share"
    done = subprocess.run(
        ["bash", "-c", MOUNT, "mount-share", share, options, "/media/x"],
        env={**os.environ, "SCRIPT": str(script)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    words = done.stdout.splitlines()
    given = words[words.index("-o") + 1].split(",")
    assert {"nosuid", "nodev", "noexec", *must.split(",")} <= set(given)
    assert never not in given
    assert "unencrypted" not in given
    assert ("not encrypted" in done.stderr) == (share.startswith("//") and "seal" not in given)
    assert ("can be read by whoever" in done.stderr) == ("password" in options)


def test_fonts_leave_sixteen_colours() -> None:
    """Every font the console may take has 256 glyphs: 512 cost a colour bit (Linux,
    drivers/tty/vt/vt.c, vc_hi_font_mask). Headers: PSF 1 mode bit 0, PSF 2 length."""
    if not FONTS.is_dir():
        pytest.skip("no console fonts here (package console-setup-linux)")
    script = (OVERLAY / "usr/lib/livecheck/console-font").read_text()
    names = set(re.findall(r"Lat15-\w+", script))
    assert len(names) > 3
    for name in names:
        data = gzip.decompress((FONTS / f"{name}.psf.gz").read_bytes())
        if data[:2] == b"\x36\x04":
            assert not data[2] & 1, name
        else:
            assert data[:4] == b"\x72\xb5\x4a\x86", name
            assert int.from_bytes(data[16:20], "little") == 256, name


def test_every_drive_is_closed_first() -> None:
    """The rule for write protection comes before all of Debian's, and the initramfs has it."""
    rules = sorted((OVERLAY / "etc/udev/rules.d").iterdir())
    assert rules[0].name == "00-write-protect.rules"
    hook = (OVERLAY / "etc/initramfs-tools/hooks/livecheck").read_text()
    assert "/etc/udev/rules.d/00-write-protect.rules" in hook
    assert "copy_exec /usr/sbin/blockdev" in hook


def test_what_may_be_written_ends_with_its_drive_alone() -> None:
    """udev(7), DEVTYPE of a block device: a partition's removal may be come to when a new one
    of its name is there and open, as when a new stick's data partition grows."""
    lines = (OVERLAY / "etc/udev/rules.d/00-write-protect.rules").read_text().splitlines()
    takes = [line for line in lines if "rm -f" in line]
    assert len(takes) == 1
    assert takes[0].startswith('ACTION=="remove", ENV{DEVTYPE}=="disk", ')
    # The names of its partitions too (sda1, mmcblk0p1).
    assert "/run/livecheck/writable/%k*'" in takes[0]
