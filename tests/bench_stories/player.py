"""Plays a story by the command line, and keeps all that was printed and written."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from livecheck import cli
from tests.bench_stories.steps import (
    TICKET,
    Handed,
    Happening,
    Looked,
    Measured,
    Proved,
    Story,
    Unmended,
)
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What the program said after one step of a story."""

    step: Happening
    status: int
    printed: str
    page: str
    """The report as it stood then."""


class Player:
    """One shop drive, and what stands on it."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self._folder, self._capsys = folder, capsys
        self._shop = folder / "shop"
        self._shop.mkdir()

    @property
    def case(self) -> Path:
        """Folder of the one case."""
        (found,) = self._shop.glob("livecheck-cases/*/case.json")
        return found.parent

    def play(self, story: Story) -> list[Told]:
        """The whole story."""
        if story.shop:
            (self._shop / "shop.toml").write_text(story.shop, "utf-8")
        told = [word for line in story.told for word in ("--told", line)]
        seen = []
        for number, step in enumerate(story.happens):
            seen.append(self._step(step, told if number == 0 else []))
        return seen

    def _step(self, step: Happening, more: list[str]) -> Told:
        status = cli.main([*self._words(step), *more])
        out, err = self._capsys.readouterr()
        page = (self.case / "report.html").read_text("utf-8")
        return Told(step=step, status=status, printed=out + err, page=page)

    def _words(self, step: Happening) -> list[str]:
        shop = ["--shop", str(self._shop)]
        ticket = ["--ticket", TICKET]
        match step:
            case Measured():
                sheet = self._folder / "sheet.toml"
                sheet.write_text(f"[label]\n{step.label}\n[answers]\n{step.answers}", "utf-8")
                words = ["run", "--complaint", step.complaint, "--readings", str(sheet)]
                return [*words, *ticket, *shop, *step.words]
            case Looked():
                words = ["run", "--complaint", step.complaint, "--from", self._capture(step.bed)]
                return [*words, *ticket, *shop, *step.words]
            case Handed():
                return ["hand-over", *ticket, *shop, "--from", self._capture(step.bed), *step.words]
            case Unmended():
                return ["outcome", str(self.case), "--not-mended", "--note", step.note, *shop]
            case Proved():
                return ["outcome", str(self.case), "--unit", step.unit, "--proved", "yes", *shop]

    def _capture(self, bed: Callable[[], Bed]) -> str:
        file = self._folder / f"{bed.__name__}.capture.gz"
        if not file.exists():
            file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
        return str(file)
