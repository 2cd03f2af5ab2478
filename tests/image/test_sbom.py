"""The list of what the image is made of: whole, and in the standard's form.

Outside judges: the CycloneDX 1.6 JSON schema (ECMA-424), as cyclonedx-python-lib carries it;
packageurl-python for the package URLs; and a look at dpkg's status file and at the folders
that pip left, which asks neither dpkg nor the METADATA that the list is made from.
"""

from __future__ import annotations

import hashlib
import importlib.resources
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any, Final

import pytest
from jsonschema import Draft7Validator
from packageurl import PackageURL
from referencing import Registry, Resource

CHECKOUT: Final = Path(__file__).parents[2]
TREE: Final = os.environ.get("LIVECHECK_TREE")
"""Folder of a build (``build --work``) that still stands, to be looked at too."""

STATUS: Final = """\
Package: firmware-heron
Status: install ok installed
Architecture: all
Version: 1:2026.02+dfsg-3~deb13u1
Source: firmware-nonfree (1:2026.02+dfsg-3)
Description: words
 with a second line, and
 Version: of something else

Package: libtern6
Status: install ok installed
Architecture: amd64
Homepage: https://example.org/tern?a=b
Version: 6.1-2
Description: words

Package: taken-out
Status: deinstall ok config-files
Architecture: amd64
Version: 1.0
Description: words
"""
AVAILABLE: Final = f"""\
Package: libtern6
Architecture: amd64
Version: 6.1-1
SHA256: {"1" * 64}

Package: libtern6
Architecture: amd64
Version: 6.1-2
SHA256: {"2" * 64}
"""
METADATA: Final = """\
Metadata-Version: 2.4
Name: {name}
Version: {version}
License-Expression: MIT
"""


def made_up(folder: Path) -> None:
    """A build's folder, small: three packages, a loader's, two of Python."""
    root = folder / "root"
    packages = root / "usr/local/lib/python3.13/dist-packages"
    status = root / "var/lib/dpkg/status"
    for file, text in (
        (root / "usr/lib/os-release", 'ID=debian\nVERSION_CODENAME="trixie"\n'),
        (status, STATUS),
        (packages / "heron_bill-2.0.dist-info/METADATA",
         METADATA.format(name="Heron.Bill", version="2.0")),
        (packages / "livecheck-0.1.0+20260301.1a2b3c4.dist-info/METADATA",
         METADATA.format(name="livecheck", version="0.1.0+20260301.1a2b3c4")),
        (folder / "deb/DEBIAN/control",
         "Package: shim-tern\nVersion: 1.2+15.8\nArchitecture: amd64\n"
         "Maintainer: nobody <nobody@example.org>\nDescription: words\n"),
    ):  # fmt: skip
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
    for name in ("wheels", "loaders", "root/var/lib/dpkg/info", "root/var/lib/dpkg/updates"):
        (folder / name).mkdir()
    (folder / "wheels/heron_bill-2.0-py3-none-any.whl").write_bytes(b"wheel")
    build = ["dpkg-deb", "--build", "--root-owner-group", f"{folder}/deb", f"{folder}/loaders"]
    subprocess.run(build, check=True, capture_output=True)


def bill(folder: Path, available: str) -> dict[str, Any]:
    """As `customize` has it written."""
    folders = [str(folder / name) for name in ("root", "loaders", "wheels")]
    command = [sys.executable, str(CHECKOUT / "image-build/sbom.py"), *folders, "0.1.0"]
    done = subprocess.run(command, input=available, capture_output=True, text=True, check=True,
                          env={**os.environ, "SOURCE_DATE_EPOCH": "1767225600"})  # fmt: skip
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def seen(folder: Path) -> set[tuple[str, str]]:
    """Name and version of all that is there, by the files alone."""
    found = set()
    status = (folder / "root/var/lib/dpkg/status").read_text("utf-8")
    for paragraph in status.split("\n\n"):
        lines = dict(re.findall(r"(?m)^(Package|Status|Version): (.*)$", paragraph))
        if lines.get("Status") == "install ok installed":
            found.add((lines["Package"], lines["Version"]))
    for info in (folder / "root/usr/local/lib").glob("*/dist-packages/*.dist-info"):
        name, _, version = info.name.removesuffix(".dist-info").rpartition("-")
        found.add((_plain(name), version))
    for package in (folder / "loaders").glob("*.deb"):
        name, version, _ = package.name.split("_")
        found.add((name, version.replace("%3a", ":")))
    return found


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def listed(made: dict[str, Any]) -> set[tuple[str, str]]:
    """Name and version of every part, Python's as it compares them."""
    return {
        (_plain(one["name"]) if one["purl"].startswith("pkg:pypi/") else one["name"],
         one["version"])
        for one in made["components"]
    }  # fmt: skip


def violations(made: dict[str, Any]) -> list[str]:
    """What the standard's schema has against it."""
    folder = importlib.resources.files("cyclonedx.schema").joinpath("_res")
    schemas = {
        name: json.loads(folder.joinpath(f"{name}.SNAPSHOT.schema.json").read_text("utf-8"))
        for name in ("bom-1.6", "spdx", "jsf-0.82")
    }
    known = [(schema["$id"], Resource.from_contents(schema)) for schema in schemas.values()]
    judge = Draft7Validator(schemas["bom-1.6"], registry=Registry().with_resources(known))
    return [f"{error.json_path}: {error.message}" for error in judge.iter_errors(made)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if shutil.which("dpkg-deb") is None:
        pytest.skip("dpkg is not here")
    folder = tmp_path_factory.mktemp("build")
    made_up(folder)
    return folder


def test_it_is_what_the_standard_says(folder: Path) -> None:
    made = bill(folder, AVAILABLE)
    assert violations(made) == []
    assert violations(made | {"components": [{"type": "toy", "name": "x"}]})
    for one in made["components"]:
        url = PackageURL.from_string(one["purl"])
        assert url.version == one["version"] and url.type in ("deb", "pypi")
        assert url.to_string() == one["purl"]


def test_it_names_all_that_is_there_and_nothing_else(folder: Path) -> None:
    assert listed(bill(folder, AVAILABLE)) == seen(folder) == {
        ("firmware-heron", "1:2026.02+dfsg-3~deb13u1"), ("libtern6", "6.1-2"),
        ("heron-bill", "2.0"), ("livecheck", "0.1.0+20260301.1a2b3c4"),
        ("shim-tern", "1.2+15.8"),
    }  # fmt: skip


def test_firmware_sums_and_sources_are_told(folder: Path) -> None:
    parts = {one["name"]: one for one in bill(folder, AVAILABLE)["components"]}
    assert parts["firmware-heron"]["type"] == "firmware"
    source = {"name": "livecheck:source", "value": "firmware-nonfree 1:2026.02+dfsg-3"}
    assert source in parts["firmware-heron"]["properties"]
    assert "hashes" not in parts["firmware-heron"]  # the mirror did not tell it
    assert parts["libtern6"]["hashes"] == [{"alg": "SHA-256", "content": "2" * 64}]
    whole = hashlib.sha256(b"wheel").hexdigest()
    assert parts["Heron.Bill"]["hashes"] == [{"alg": "SHA-256", "content": whole}]


@pytest.mark.skipif(TREE is None, reason="LIVECHECK_TREE names no folder of a build")
def test_the_list_of_a_build_names_all_that_is_in_its_tree() -> None:
    folder = Path(str(TREE))
    made = json.loads((folder / "sbom.cdx.json").read_text("utf-8"))
    assert violations(made) == []
    assert listed(made) == seen(folder)
    assert len(listed(made)) > 150
