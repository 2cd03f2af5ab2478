"""Plays machines by the command line, and holds what is said against what was wanted."""

from __future__ import annotations

import gzip
import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

import msgspec
import pytest
from _pytest.mark import ParameterSet

from livecheck import capture, cli, knowledge
from livecheck.casefile import Shop
from livecheck.commands import run as run_command
from livecheck.commands.output import print_saved
from livecheck.guided import offered
from livecheck.guided.ending import reading
from livecheck.plan import Plan
from livecheck.records import Outcome
from livecheck.run import begin
from livecheck.saving import given_run, save
from tests.bench_stories.habits import Did, Habit
from tests.inventory.test_naming import ADDRESS
from tests.report.pages import Page
from tests.report.test_one_number import numbers
from tests.testbeds.build_demo import contents


class Bench:
    """One shop drive, and what is typed at it."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self._folder, self._capsys = folder, capsys
        self.shop = folder / "shop"
        self.shop.mkdir()

    @property
    def case(self) -> Path:
        """Folder of the one case."""
        (found,) = self.shop.glob("livecheck-cases/*/case.json")
        return found.parent

    def do(self, did: Did) -> str:
        """What is printed; its status is the one that was wanted."""
        if did.hand:
            return self._by_hand(did)
        words = [str(self.case) if word == "CASE" else word for word in did.words]
        if did.bed is not None:
            words += ["--from", self._capture(did)]
        if did.sheet:
            words += ["--readings", self._file("sheet.toml", did.sheet)]
        if did.log:
            words.append(self._file("kernel.log", did.log))
        status, printed = self.typed(*words)
        assert status == did.status, printed
        return printed

    def _by_hand(self, did: Did) -> str:
        """As ``livecheck guided`` saves what hand, eye and ear found."""
        host, table = capture.load(Path(self._capture(did))), knowledge.guided()
        begun, _ = begin(host, Plan())
        readings = tuple(
            reading(one.row, target, Outcome.PASSED if passed else Outcome.FAILED, one.row.title)
            for name, passed in did.hand.items()
            for one in offered(begun.inventory, table)
            for target in one.targets
            if name in (one.row.name, f"{one.row.name}@{target.component}")
        )
        assert len(readings) >= len(did.hand), "this machine has no hardware for it"
        typed = run_command.planned(cli.parser().parse_args(did.words))
        plan = msgspec.structs.replace(typed, readings=readings)
        run, messages = given_run(host, plan)
        saved = save(run, plan, knowledge.load(), Shop(self.shop), messages)
        print_saved(saved, knowledge.load(), as_json=False)
        out, err = self._capsys.readouterr()
        return out + err

    def typed(self, *words: str) -> tuple[int, str]:
        """Status and all that is printed."""
        self._capsys.readouterr()
        try:
            status = cli.main([*words, "--shop", str(self.shop)])
        except SystemExit as ended:
            status = int(ended.code or 0)
        out, err = self._capsys.readouterr()
        return status, out + err

    def located(self) -> dict[str, Any]:
        """The verdict as other programs get it."""
        assert cli.main(["locate", str(self.case), "--json"]) == 0
        found: dict[str, Any] = json.loads(self._capsys.readouterr().out)
        return found

    def _file(self, name: str, words: str) -> str:
        file = self._folder / name
        file.write_text(words, "utf-8")
        return str(file)

    def _capture(self, did: Did) -> str:
        assert did.bed is not None
        file = self._folder / f"{did.bed.__name__}.capture.gz"
        if not file.exists():
            file.write_bytes(gzip.compress(contents(did.bed()), 1, mtime=0))
        return str(file)


class Told(Protocol):
    """A story of any form."""

    @property
    def name(self) -> str: ...

    @property
    def unmet(self) -> str: ...


def cases(habits: Sequence[Told]) -> list[ParameterSet]:
    """For ``parametrize``: what is told to be unmet is expected to fail."""
    return [
        pytest.param(
            habit,
            id=habit.name,
            marks=[pytest.mark.xfail(reason=habit.unmet, strict=True)] if habit.unmet else [],
        )
        for habit in habits
    ]


def play(habit: Habit, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The whole story; raises where something is not as it was wanted."""
    bench = Bench(folder, capsys)
    if habit.shop:
        (bench.shop / "shop.toml").write_text(habit.shop, "utf-8")
    for did in habit.does:
        printed = " ".join(bench.do(did).split())
        _said(did, printed)
        if did.words[0] in ("run", "read-log", "hand-over") and did.status < 2:
            judged(did, bench.located(), printed)
        page_holds(did, (bench.case / "report.html").read_text("utf-8"))


def _said(did: Did, printed: str) -> None:
    low = printed.lower()
    assert [words for words in did.finds if words.lower() not in low] == [], printed
    assert [words for words in did.lacks if words.lower() in low] == [], printed


def judged(did: Did, found: dict[str, Any], printed: str) -> None:
    """Who is thought of first, what is settled, and the next step are as they were wanted."""
    first = found["candidates"][0]
    assert not did.top or first["kind"] in did.top, f"{first}\n{printed}"
    assert found["unit"] not in did.never, printed
    step = found["next_step"]
    assert not did.steps or (step and step["action"] in did.steps), f"{step}\n{printed}"
    if did.within and step:
        assert step["minutes"] <= did.within, f"{step}\n{printed}"


def page_holds(did: Did, page: str) -> None:
    """One number for each unit, no address of a bus, and the customer's words."""
    given = numbers(page)
    assert {name for name, shares in given.items() if len(shares) > 1} == set()
    shown = re.sub(r"<(details|code|style)\b.*?</\1>", "", page, flags=re.DOTALL)
    assert ADDRESS.findall(re.sub(r"<[^>]*>", " ", shown)) == []
    if 'id="customer"' not in page:
        return
    text = Page(page).text("customer").lower()
    assert [words for words in did.customer if words.lower() not in text] == [], text
    assert [words for words in did.customer_lacks if words.lower() in text] == [], text
