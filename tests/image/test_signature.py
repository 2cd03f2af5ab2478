"""The commands by which a release is signed (DEVELOPERS.md) and verified (README.md).

``ssh-keygen`` (OpenSSH) is the judge.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest

CHECKOUT: Final = Path(__file__).parents[2]
BLOCK: Final = r"```\n(ssh-keygen %s.*?)```"

pytestmark = pytest.mark.skipif(
    shutil.which("ssh-keygen") is None,
    reason="no ssh-keygen here (openssh-client, image-build/packages/test)",
)


def commands() -> tuple[str, str]:
    """Those that sign, and the one that verifies."""
    made = (CHECKOUT / "DEVELOPERS.md").read_text("utf-8")
    read = (CHECKOUT / "README.md").read_text("utf-8")
    (sign,) = re.findall(BLOCK % "-q -t", made, re.DOTALL)
    (verify,) = re.findall(BLOCK % "-Y verify", read, re.DOTALL)
    return sign, verify


def done(script: str, folder: Path) -> int:
    """Status of a shell in that folder, where the key's pass phrase is always the same."""
    asked = folder / "pass-phrase"
    asked.write_text("#!/bin/sh\necho five words of a phrase\n")
    asked.chmod(0o700)
    own = {**os.environ, "SSH_ASKPASS": str(asked), "SSH_ASKPASS_REQUIRE": "force"}
    shell = ["bash", "-euc", script]
    return subprocess.run(shell, cwd=folder, env=own, capture_output=True, check=False).returncode


@pytest.fixture
def release(tmp_path: Path) -> Path:
    (tmp_path / "livecheck-amd64.img").write_bytes(bytes(100_000))
    (tmp_path / "livecheck-amd64.img.cdx.json").write_text("{}\n")
    assert done(commands()[0], tmp_path) == 0
    return tmp_path


def test_what_was_signed_is_accepted(release: Path) -> None:
    assert done(commands()[1], release) == 0


def _one_bit(folder: Path) -> None:
    image = folder / "livecheck-amd64.img"
    whole = bytearray(image.read_bytes())
    whole[50_000] ^= 1
    image.write_bytes(whole)


def _bit_and_sum(folder: Path) -> None:
    _one_bit(folder)
    assert done("sha256sum livecheck-amd64.img* >SHA256SUMS", folder) == 0


def _another_key(folder: Path) -> None:
    trusted = (folder / "livecheck.signers").read_text()
    for name in ("livecheck.key", "SHA256SUMS.sig"):
        (folder / name).unlink()
    _bit_and_sum(folder)
    assert done(commands()[0], folder) == 0
    (folder / "livecheck.signers").write_text(trusted)


def _another_purpose(folder: Path) -> None:
    (folder / "SHA256SUMS.sig").unlink()
    assert done("ssh-keygen -Y sign -f livecheck.key -n file SHA256SUMS", folder) == 0


@pytest.mark.parametrize("change", [_one_bit, _bit_and_sum, _another_key, _another_purpose])
def test_a_changed_image_is_refused(release: Path, change: Callable[[Path], None]) -> None:
    """A bit; its sum with it; both, signed by another; the signature of another purpose."""
    change(release)
    assert done(commands()[1], release) != 0
