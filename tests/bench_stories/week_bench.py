"""Machines over several days (``week.py``): what is said at each line, and on page one."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from livecheck.commands import run as run_command
from tests.bench_stories.bench import Bench, judged, page_holds
from tests.bench_stories.week import Days, Then
from tests.report.pages import Page
from tests.report.test_customer import told as customers


class WeekBench(Bench):
    """A shop drive with more than one case on it: CASE is the one last written to."""

    @property
    def case(self) -> Path:
        found = self.shop.glob("livecheck-cases/*/report.html")
        return max(found, key=lambda file: file.stat().st_mtime_ns).parent


@contextlib.contextmanager
def _at_once(says: str = "") -> Iterator[Callable[[], bool]]:
    """A stop that is asked for as soon as the run has begun."""
    yield lambda: True


def _said(then: Then, printed: str) -> None:
    """Each of ``finds`` may give several words, of which one will do."""
    low = " ".join(printed.lower().split())
    missing = [one for one in then.finds if not any(w in low for w in one.lower().split("|"))]
    assert missing == [], printed
    assert [words for words in then.lacks if words.lower() in low] == [], printed


def _page_one(then: Then, page: str, printed: str) -> None:
    """The three answers of the customer's page, or the sign-off before all else."""
    if then.words[0] == "hand-over":
        assert page.index('id="sign-off"') < page.index('id="verdict"')
        text = Page(page).text("sign-off").lower()
        assert [words for words in then.signs if words.lower() not in text] == [], text
        assert [words for words in then.signs_not if words.lower() in text] == [], text
        assert ("not signed off" in text) == (then.status == 1), text
    elif then.words[0] == "run":
        answers = customers(page)
        assert {"Are your data safe?", "What we propose"} <= set(answers), answers
        # The customer is not told to wait for a test while the technician is told to buy.
        buys = "\nNext: replace: " in printed
        assert not (buys and "before anything is bought" in answers["What we propose"]), answers


def _line(then: Then, bench: WeekBench, patch: pytest.MonkeyPatch) -> None:
    with patch.context() as own:
        if then.stopped:
            own.setattr(run_command, "stop_requests", _at_once)
        printed = bench.do(then)
    _said(then, printed)
    if then.status > 1:
        return
    if then.words[0] in ("run", "hand-over"):
        judged(then, bench.located(), printed)
    page = (bench.case / "report.html").read_text("utf-8")
    page_holds(then, page)
    _page_one(then, page, printed)


def play(
    days: Days, tmp_path: Path, capsys: pytest.CaptureFixture[str], patch: pytest.MonkeyPatch
) -> None:
    """One line after the other; the first that is not met is told."""
    bench = WeekBench(tmp_path, capsys)
    if days.shop:
        (bench.shop / "shop.toml").write_text(days.shop, "utf-8")
    for number, then in enumerate(days.does, 1):
        try:
            _line(then, bench, patch)
        except AssertionError as error:
            raise AssertionError(f"line {number}: {' '.join(then.words)}\n{error}") from error
