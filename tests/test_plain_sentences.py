"""What stands on screen and paper is said as one would say it: nothing twice, no empty counts."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from livecheck import demo, knowledge
from livecheck.console.evidence_lines import behind
from livecheck.console.judged_case import JudgedCase
from livecheck.console.verdict_lines import verdict_lines
from livecheck.judgement import locate_case

NOTHING_COUNTED = re.compile(r"\band 0 \w+", re.IGNORECASE)
TABLES = knowledge.load()


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> list[JudgedCase]:
    """Every state of the demo's cases."""
    return [
        JudgedCase(loaded=step.saved.loaded, location=locate_case(step.saved.loaded, TABLES),
                   tables=TABLES, report="")
        for step in demo.play(tmp_path_factory.mktemp("demo"), TABLES)
    ]  # fmt: skip


def test_no_sentence_counts_what_was_not_there(cases: list[JudgedCase]) -> None:
    said = [r.says for case in cases for run in case.loaded.runs for r in run.readings]
    assert NOTHING_COUNTED.search("26 frames arrived damaged and 0 were refused")
    assert [words for words in said if NOTHING_COUNTED.search(words)] == []
    assert [words for words in said if "no such trouble" in words] == []


def test_two_checks_of_one_part_do_not_say_the_same(cases: list[JudgedCase]) -> None:
    for case in cases:
        for run in case.loaded.runs:
            said = Counter((r.at, r.says) for r in run.readings if r.says)
            assert [words for words, times in said.items() if times > 1] == []


def test_behind_the_verdict_nothing_stands_twice(cases: list[JudgedCase]) -> None:
    for case in cases:
        lines = [proof.text for proof in behind(case, "verdict")]
        assert len(lines) == len(set(lines))


def test_outcomes_that_mean_the_same_are_not_told_apart(cases: list[JudgedCase]) -> None:
    for case in cases:
        lines = [line.text for line in verdict_lines(case) if (line.key or "").startswith("step:")]
        means = [line.partition("): ")[2] for line in lines if "): " in line]
        assert not means or len(set(means)) > 1
