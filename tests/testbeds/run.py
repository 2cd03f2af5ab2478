"""Runs a command in a bed laid out under umockdev."""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from tests.testbeds.bed import Bed

HERE: Final = Path(__file__).parent
SYSTEM_PYTHON: Final = "/usr/bin/python3"


def run(bed: Bed, command: Sequence[str], work: Path) -> subprocess.CompletedProcess[str]:
    """Run a command that sees the bed in place of this machine; ``work`` is for scratch."""
    work.mkdir(parents=True, exist_ok=True)
    tools = work / "bin"
    tools.mkdir(exist_ok=True)
    if not (tools / "smartctl").exists():
        (tools / "smartctl").symlink_to(HERE / "fake_smartctl")
    answers = work / "smartctl.json"
    answers.write_text(bed.smartctl_answers(), "utf-8")
    order = work / "order.json"
    files = {path: content.hex() for path, content in bed.files.items()}
    order.write_text(
        json.dumps({"description": bed.description, "files": files, "command": list(command)}),
        "utf-8",
    )
    environment = {
        **os.environ,
        "PATH": f"{tools}{os.pathsep}{os.environ['PATH']}",
        "TESTBED_SMARTCTL": str(answers),
    }
    return subprocess.run(
        [SYSTEM_PYTHON, str(HERE / "under_umockdev.py"), str(order)],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
