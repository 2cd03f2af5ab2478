"""The first words wait for a sound card and for the shop drive, and for neither without end."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from livecheck.console import blind, waiting
from livecheck.host import Host
from livecheck.voice.presses import KeyTerminal, Press
from tests.console.blind.support import CAPTURES


def _started(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> list[str]:
    blind.run(tmp_path, CAPTURES / "drive-1.capture.gz", None)
    return capfd.readouterr().out.splitlines()


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody at the keys, and no time lost."""
    monkeypatch.setattr(blind, "LOOKED_EVERY_SECONDS", 0.01)
    monkeypatch.setattr(blind, "CARD_SECONDS", 0.05)
    monkeypatch.setattr(blind, "WAITED_SECONDS", 0.05)

    class Nobody(KeyTerminal):
        async def __aenter__(self) -> KeyTerminal:
            self._put(Press.GONE)
            return self

        async def __aexit__(self, *_: object) -> None:
            return None

    monkeypatch.setattr(blind, "KeyTerminal", Nobody)


def test_a_card_that_comes_late_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    looks: list[int] = []

    def plays(host: Host) -> Iterator[str]:
        looks.append(1)
        return iter(["card0"] if len(looks) == 3 else [])

    monkeypatch.setattr(blind, "plays", plays)
    assert _started(tmp_path, capfd)[0].startswith("livecheck speaks.")
    assert len(looks) == 3
    looks.extend([1] * 3)
    _started(tmp_path, capfd)
    assert len(looks) == 6 + 5, "a machine without one is not waited for for ever"


def test_the_shop_drive_is_waited_for_and_that_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(blind, "plays", lambda host: iter(["card0"]))
    monkeypatch.setenv(waiting.WAIT_FOR, str(tmp_path / "never"))
    said = _started(tmp_path, capfd)
    assert said[0] == "Waiting for the stick's shop drive."
    assert any(line.startswith("livecheck speaks.") for line in said)
    (tmp_path / "never").write_text("looked\n")
    assert _started(tmp_path, capfd)[0].startswith("livecheck speaks.")
