"""The lists in image-build/wheels: whole, the versions in use, and what differs is refused.

Their form is pip's own, whose hash-checking mode reads them (pip's documentation, "Secure
installs"); requirements are read by ``packaging`` (PEP 440 and 508).
"""

from __future__ import annotations

import os
import re
import subprocess
import tomllib
import zipfile
from importlib import metadata
from pathlib import Path
from typing import Final

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

CHECKOUT: Final = Path(__file__).parents[1]
LISTS: Final = CHECKOUT / "image-build" / "wheels"


def _listed(name: str) -> dict[str, tuple[str, int]]:
    """Package -> (its version, how many sums), of those that this Python wants."""
    found: dict[str, tuple[str, int]] = {}
    for entry in (LISTS / name).read_text("utf-8").replace("\\\n", " ").splitlines():
        wanted = Requirement(entry.partition(" --hash")[0])
        if wanted.marker is None or wanted.marker.evaluate():
            version = str(wanted.specifier).removeprefix("==")
            sums = len(re.findall("--hash=sha256:", entry))
            found[canonicalize_name(wanted.name)] = (version, sums)
    return found


def _asked_for(name: str) -> list[Requirement]:
    table = tomllib.loads((CHECKOUT / "pyproject.toml").read_text("utf-8"))
    if name == "build":
        return [Requirement(words) for words in table["build-system"]["requires"]]
    project = table["project"]
    more = project["optional-dependencies"]["test"] if name == "test" else []
    return [Requirement(words) for words in (*project["dependencies"], *more)]


@pytest.mark.parametrize("name", ["build", "run", "test"])
def test_the_list_fits_what_the_project_asks_for(name: str) -> None:
    listed = _listed(name)
    assert all(sums > 0 for _, sums in listed.values())
    wrong = [
        str(one)
        for one in _asked_for(name)
        if not one.specifier.contains(listed[canonicalize_name(one.name)][0], prereleases=True)
    ]
    assert wrong == [], "make them anew: bash image-build/lock"


def test_the_tests_run_with_the_listed_versions() -> None:
    listed = _listed("build") | _listed("test")
    assert {name: metadata.version(name) for name in listed} == {
        name: version for name, (version, _) in listed.items()
    }


def test_what_runs_on_the_stick_is_what_was_tested() -> None:
    assert _listed("run").items() <= _listed("test").items()


@pytest.mark.slow
def test_a_changed_wheel_is_refused(tmp_path: Path) -> None:
    """Its name and version are right, and nothing but the sum tells that it is another."""
    version = _listed("build")["setuptools"][0]
    folder = f"setuptools-{version}.dist-info"
    with zipfile.ZipFile(tmp_path / f"setuptools-{version}-py3-none-any.whl", "w") as wheel:
        about = f"Metadata-Version: 2.1\nName: setuptools\nVersion: {version}\n"
        wheel.writestr(f"{folder}/METADATA", about)
        tags = "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        wheel.writestr(f"{folder}/WHEEL", tags)
        wheel.writestr(f"{folder}/RECORD", "")
    installer = CHECKOUT / "image-build" / "install.sh"
    done = subprocess.run(
        ["bash", "-c", '. "$1"; VENV=$2; make_venv run', "-", installer, tmp_path / "venv"],
        env={**os.environ, "PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 3
    assert "DO NOT MATCH THE HASHES" in done.stderr
    assert not list((tmp_path / "venv").glob(f"lib/*/site-packages/{folder}"))
