"""First hours of beginners (``first_hour.py``): what the program makes of each line they type."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import pytest

from tests.bench_stories.bench import Bench, cases
from tests.bench_stories.first_hour import ALL, Hour, Line
from tests.testbeds.build_demo import contents


def _words(line: Line, bench: Bench, folder: Path) -> list[str]:
    found = sorted(path.parent for path in bench.shop.glob("livecheck-cases/*/case.json"))
    words = [str(found[0]) if word == "CASE" else word for word in line.words]
    if line.bed is not None:
        file = folder / f"{line.bed.__name__}.capture.gz"
        file.write_bytes(gzip.compress(contents(line.bed()), 1, mtime=0))
        words += ["--from", str(file)]
    if line.sheet:
        (folder / "sheet.toml").write_text(line.sheet, "utf-8")
        words += ["--readings", str(folder / "sheet.toml")]
    return words


def _typed(line: Line, bench: Bench, folder: Path) -> None:
    status, printed = bench.typed(*_words(line, bench, folder))
    flat = " ".join(printed.lower().split())
    assert status in line.status, printed
    missing = [one for one in line.finds if not any(w in flat for w in one.lower().split("|"))]
    assert missing == [], printed
    assert [words for words in line.lacks if words.lower() in flat] == [], printed
    found = sorted(path.parent for path in bench.shop.glob("livecheck-cases/*/case.json"))
    assert len(found) == line.cases, printed
    if line.never:
        _, told = bench.typed("locate", str(found[-1]), "--json")
        assert json.loads(told)["unit"] not in line.never, printed


@pytest.mark.slow
@pytest.mark.parametrize("hour", cases(ALL))
def test_a_first_hour_is_met(
    hour: Hour, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bench = Bench(tmp_path, capsys)
    for number, line in enumerate(hour.lines, 1):
        try:
            _typed(line, bench, tmp_path)
        except AssertionError as error:
            raise AssertionError(f"line {number}: {' '.join(line.words)}\n{error}") from error
