"""Three keys, as the kernel's console and other terminals send them."""

from __future__ import annotations

import asyncio
import os
import pty
import subprocess
import termios
from pathlib import Path

import pytest

from livecheck.voice.presses import KeyTerminal, Press, presses


@pytest.mark.parametrize(
    ("sent", "meant"),
    [
        (b"\r", ["yes"]),
        (b"\n", ["yes"]),
        (b"\x1b", ["no"]),
        (b" ", ["again"]),
        (b"x", ["other"]),
        (b"\x1b\x1b", ["no", "no"]),
        (b"\x1b\r", ["no", "yes"]),
        (b"\x1b ", ["no", "again"]),
        (b"", []),
        ("é".encode(), ["other"]),
        (b"\xff", ["other"]),
        # Alt with a letter.
        (b"\x1bq", ["other"]),
    ],
)
def test_keys_and_what_they_mean(sent: bytes, meant: list[str]) -> None:
    assert list(presses(sent)) == [Press(one) for one in meant]


NAMES = ("kcuu1", "kcud1", "khome", "kend", "kpp", "knp", "kich1", "kdch1",
         *(f"kf{n}" for n in range(1, 13)))  # fmt: skip


def _sent(terminal: str, key: str) -> bytes:
    """What a terminal sends for a key, by tput(1) from the descriptions of ncurses."""
    return subprocess.run(["tput", "-T", terminal, key], capture_output=True, check=False).stdout


LONG = [(t, k, sent) for t in ("linux", "xterm", "vt220") for k in NAMES
        if len(sent := _sent(t, k)) > 1]  # fmt: skip


def test_a_key_of_several_characters_is_never_taken_for_escape() -> None:
    assert len(LONG) > 50
    wrong = [(t, k, sent) for t, k, sent in LONG if list(presses(sent)) != [Press.OTHER]]
    assert wrong == []


def _played(descriptor: int, sent: list[bytes], master: int) -> list[Press | None]:
    async def play() -> list[Press | None]:
        got = []
        async with KeyTerminal(descriptor) as keys:
            for data in sent:
                os.write(master, data)
                got.append(await keys.next(5))
            got.append(await keys.next(0.01))
            assert not keys.waiting()
            os.close(master)
            got.append(await keys.next(5))
            assert not keys.waiting(), "that nobody is there any more is no key"
            got.append(await keys.next(None))
        return got

    return asyncio.run(play())


@pytest.mark.parametrize("make", [os.pipe, pty.openpty])
def test_a_key_comes_at_once_and_the_end_is_told(make: object) -> None:
    """Without Enter after it; a pipe serves as well as a terminal."""
    first, second = make()  # type: ignore[operator]
    reading, writing = (first, second) if make is os.pipe else (second, first)
    before = termios.tcgetattr(reading) if make is pty.openpty else None
    got = _played(reading, [b" ", b"\x1b", b"\r", b"\x1b[A"], writing)
    assert got == ["again", "no", "yes", "other", None, "gone", "gone"]
    assert before is None or before[3] & termios.ICANON
    os.close(reading)


def test_a_file_has_no_keys() -> None:
    async def play() -> Press | None:
        with Path("/dev/null").open("rb") as nothing:
            async with KeyTerminal(nothing.fileno()) as keys:
                return await keys.next(5)

    assert asyncio.run(play()) is Press.GONE
