"""The pieces that run before livecheck: options of the kernel line, search for the stick,
fonts, write protection. None of them needs a boot to be wrong."""

from __future__ import annotations

import gzip
import os
import re
import subprocess
from pathlib import Path

import pytest

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
    (tmp_path / "search").write_text(script)
    done = subprocess.run(
        ["sh", "-c", SEARCH, "sh", named], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    guid = re.search(r"SYSTEM_GUID=(\S+)", names.read_text())
    assert guid
    wanted = named or f"/dev/disk/by-partuuid/{guid[1].lower()}"
    assert done.returncode == 1
    assert set(done.stderr.splitlines()) == {f"asked {wanted}"}


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
