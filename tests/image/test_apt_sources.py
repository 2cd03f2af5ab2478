"""The Debian mirrors of this machine, carried over to another release.

Both formats are those of sources.list(5); apt itself reads them.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

SCRIPT = Path(__file__).parents[2] / "image-build/apt-sources"
CODENAME = next(
    line.partition("=")[2].strip().strip('"')
    for line in Path("/etc/os-release").read_text().splitlines()
    if line.startswith("VERSION_CODENAME=")
)
ARCHITECTURE = subprocess.run(
    ["dpkg", "--print-architecture"], capture_output=True, text=True, check=True
).stdout.strip()

ONE_LINE = f"""\
deb [arch=amd64] http://mirror.example/debian {CODENAME} main contrib  # a comment
# deb http://unused.example/debian {CODENAME} main
deb-src http://sources.example/debian {CODENAME} main
deb http://security.example/debian-security {CODENAME}-security main
deb http://others.example/tools {CODENAME} main
"""
DEB822 = f"""\
Types: deb deb-src
URIs: http://mirror.example/debian
Suites: {CODENAME} {CODENAME}-updates
Components: main

Enabled: no
Types: deb
URIs: http://unused.example/debian
Suites: {CODENAME}
Components: main
"""


def carried(folder: Path, file: str, text: str, archives: dict[str, str]) -> list[str]:
    """The lines made of one file of sources, given what each archive calls itself."""
    for part in ("lists/partial", "parts"):
        (folder / part).mkdir(parents=True)
    (folder / "parts" / file).write_text(text)
    for name, origin in archives.items():
        # apt names a source only when its index was fetched.
        (folder / "lists" / f"{name}_InRelease").write_text(f"Origin: {origin}\nSuite: any\n")
        (folder / "lists" / f"{name}_main_binary-{ARCHITECTURE}_Packages").touch()
    (folder / "apt.conf").write_text(
        f'Dir::State::Lists "{folder}/lists";\n'
        f'Dir::Etc::SourceList "-";\nDir::Etc::SourceParts "{folder}/parts";\n'
    )
    done = subprocess.run(
        ["bash", str(SCRIPT), "trixie", "main non-free-firmware"],
        env={**os.environ, "APT_CONFIG": str(folder / "apt.conf")},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.splitlines()


def archive(host: str, folder: str, suite: str) -> str:
    """What apt calls the file of an archive's release (apt-get update makes them)."""
    return f"{host}_{folder}_dists_{suite}"


def test_one_line_format(tmp_path: Path) -> None:
    """Debian's own lines are carried over, security too; others and comments are not."""
    found = carried(
        tmp_path,
        "all.list",
        ONE_LINE,
        {
            archive("mirror.example", "debian", CODENAME): "Debian",
            archive("security.example", "debian-security", f"{CODENAME}-security"): "Debian",
            archive("others.example", "tools", CODENAME): "Others",
        },
    )
    assert found == [
        "deb http://mirror.example/debian/ trixie main non-free-firmware",
        "deb http://security.example/debian-security/ trixie-security main non-free-firmware",
    ]


def test_deb822_format(tmp_path: Path) -> None:
    """A stanza with two suites makes two lines; a disabled one none."""
    suites = [CODENAME, f"{CODENAME}-updates"]
    found = carried(
        tmp_path,
        "debian.sources",
        DEB822,
        {archive("mirror.example", "debian", suite): "Debian" for suite in suites},
    )
    assert found == [
        "deb http://mirror.example/debian/ trixie main non-free-firmware",
        "deb http://mirror.example/debian/ trixie-updates main non-free-firmware",
    ]


@pytest.mark.parametrize("wrong", ["--keymap", "--no-such-option", "--output /no/such/x.img"])
def test_wrong_usage_ends_with_2(wrong: str) -> None:
    """An option without its value, unknown, or with no folder to write to; builds nothing."""
    build = SCRIPT.with_name("build")
    words = ["bash", str(build), *wrong.split()]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert wrong in done.stderr
