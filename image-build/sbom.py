"""Lists what the image is made of, as CycloneDX 1.6 JSON (ECMA-424):

    python3 image-build/sbom.py ROOT LOADERS WHEELS VERSION <available

ROOT is the new system, LOADERS the folder of the packages whose loaders lie beside it, WHEELS
that of the Python packages that were installed, VERSION that of livecheck; standard input is
what `apt-cache dumpavail` says, for the sums of the packages. `customize` calls it; the
standard library is all it needs.
"""

from __future__ import annotations

import email.parser
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any
from urllib.parse import quote

Component = dict[str, Any]
FIELDS = ("Package", "Version", "Architecture", "source:Package", "source:Version", "Homepage")
FIRMWARE = re.compile(r"firmware-.*|.*-microcode")
Key = tuple[str, str, str]
"""Package, version, architecture."""


def bill(root: Path, loaders: Path, wheels: Path, version: str, available: str) -> Component:
    """The whole list; the same tree gives the same one."""
    release = os_release(root)
    sums = debian_sums(available)
    parts = [
        *(debian(fields, sums, release) for fields in installed(root)),
        *(debian(fields, sums, release) for fields in beside(loaders)),
        *python(root, wheel_sums(wheels)),
    ]
    built = datetime.fromtimestamp(int(os.environ["SOURCE_DATE_EPOCH"]), UTC)
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {
            "timestamp": built.strftime("%Y-%m-%dT%H:%M:%SZ"),
            "component": {
                "type": "operating-system",
                "name": "livecheck image",
                "version": version,
            },
        },
        "components": sorted(parts, key=lambda part: str(part["bom-ref"])),
    }


def os_release(root: Path) -> str:
    """The Debian release's name, as in ``trixie``."""
    lines = (root / "usr/lib/os-release").read_text("utf-8").splitlines()
    found = dict(line.split("=", 1) for line in lines if "=" in line)
    return found.get("VERSION_CODENAME", "").strip('"')


def installed(root: Path) -> Iterator[list[str]]:
    """Fields of each package the new system's dpkg knows as installed."""
    form = "${db:Status-Status}" + "".join(f"\t${{{name}}}" for name in FIELDS) + "\n"
    command = ["dpkg-query", f"--admindir={root}/var/lib/dpkg", "--show", f"--showformat={form}"]
    for line in _output(command).splitlines():
        status, *fields = line.split("\t")
        if status == "installed":
            yield fields


def beside(loaders: Path) -> Iterator[list[str]]:
    """Fields of the packages that were taken apart for their loaders."""
    form = "\t".join(f"${{{name}}}" for name in FIELDS)
    for package in sorted(loaders.glob("*.deb")):
        yield _output(["dpkg-deb", "--show", f"--showformat={form}", str(package)]).split("\t")


def debian_sums(available: str) -> dict[Key, str]:
    """Package -> sha256 of its file, of all the mirror offers."""
    sums: dict[Key, str] = {}
    for paragraph in available.split("\n\n"):
        fields = dict(re.findall(r"^(Package|Version|Architecture|SHA256): (.*)$", paragraph, re.M))
        if len(fields) == 4:
            sums[fields["Package"], fields["Version"], fields["Architecture"]] = fields["SHA256"]
    return sums


def debian(fields: list[str], sums: dict[Key, str], release: str) -> Component:
    """A Debian package."""
    name, version, architecture, source, source_version, homepage = fields
    where = f"pkg:deb/debian/{quote(name, '')}@{quote(version, ':')}"
    made: Component = {
        "type": "firmware" if FIRMWARE.fullmatch(name) else "library",
        "bom-ref": f"{where}?arch={architecture}&distro={release}",
        "name": name,
        "version": version,
        "purl": f"{where}?arch={architecture}&distro={release}",
        "properties": [
            {"name": "livecheck:source", "value": f"{source} {source_version}"},
            {"name": "livecheck:licences", "value": f"/usr/share/doc/{name}/copyright"},
        ],
    }
    return made | _hashes(sums.get((name, version, architecture))) | _website(homepage)


def wheel_sums(folder: Path) -> dict[str, str]:
    """Python package -> sha256 of its wheel, whose name begins with the package's."""
    wheels = sorted(folder.glob("*.whl"))
    return {_normal(w.name.split("-")[0]): sha256(w.read_bytes()).hexdigest() for w in wheels}


def python(root: Path, sums: dict[str, str]) -> Iterator[Component]:
    """What pip put there."""
    for about in sorted(root.glob("usr/local/lib/python3.*/dist-packages/*.dist-info/METADATA")):
        fields = email.parser.HeaderParser().parsestr(about.read_text("utf-8"))
        name, version = str(fields["Name"]), str(fields["Version"])
        where = f"pkg:pypi/{_normal(name)}@{quote(version, ':')}"
        made: Component = {
            "type": "application" if name == "livecheck" else "library",
            "bom-ref": where, "name": name, "version": version, "purl": where,
        }  # fmt: skip
        if licence := fields["License-Expression"]:
            made["licenses"] = [{"expression": str(licence)}]
        elif licence := fields["License"]:
            made["licenses"] = [{"license": {"name": str(licence).splitlines()[0]}}]
        yield made | _hashes(sums.get(_normal(name)))


def _hashes(content: str | None) -> Component:
    return {"hashes": [{"alg": "SHA-256", "content": content}]} if content else {}


def _website(url: str) -> Component:
    return {"externalReferences": [{"type": "website", "url": url}]} if url else {}


def _normal(name: str) -> str:
    """As the packaging standards compare names (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def _output(command: Iterable[str]) -> str:
    return subprocess.run([*command], capture_output=True, text=True, check=True).stdout


if __name__ == "__main__":
    *folders, told = sys.argv[1:]
    tree, taken_apart, packed = map(Path, folders)
    made = bill(tree, taken_apart, packed, told, sys.stdin.read())
    print(json.dumps(made, indent=1, ensure_ascii=False))
