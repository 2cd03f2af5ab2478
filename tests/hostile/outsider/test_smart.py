"""Drives whose health data is absurd or contradicts itself.

Sources: smartctl(8), EXIT STATUS (bit 3: the drive says that it fails); NVM Express base
specification, log 02h (Percentage Used: 255 for more than 254; Available Spare: 0 to 100);
ACS-4, SMART RETURN STATUS, for a verdict that need not be there.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import pytest

from livecheck.probes.drive import smart, smart_judge
from livecheck.probes.finding import Finding
from livecheck.records import Outcome
from tests.hostile.outsider.support import TABLES, accused, defects, located, looked, outcomes
from tests.testbeds import laptops
from tests.testbeds.bed import BedHost
from tests.testbeds.smartctl import Drive

ABSURD: tuple[Any, ...] = (
    *(2**48, 2**63, 2**64, 10**30, -1, -128, 255, 65535, float("nan"), float("inf"), 1e308),
    *("", "12", "a\x1b[2J", [], {}, [1], None, True, "9" * 5000),
)
DRIVES = {"ata": laptops.DISK, "nvme": laptops.NVME}
BEDS = {"ata": ("ahci", ("sda",)), "nvme": ("nvme", ("nvme0n1", "nvme0"))}
UNLIKELY = ("model_name", "serial_number", "firmware_version", "json_format_version", "output")


@dataclass(frozen=True)
class Told(Drive):
    """A drive whose JSON is given."""

    tree: Any = None

    def json(self) -> dict[str, Any]:
        return self.tree if self.tree is not None else super().json()

    def answer(self, options: Any) -> tuple[int, bytes]:
        status, out = super().answer(options)
        own = self.tree.get("smartctl", {}).get("exit_status") if self.tree else None
        return own if isinstance(own, int) and 0 <= own < 256 else status, out


def told(kind: str, tree: Any) -> Told:
    drive = DRIVES[kind]
    return Told(drive.model, drive.serial, drive.firmware, drive.size, drive.nvme, tree=tree)


def host(kind: str, tree: Any) -> BedHost:
    name, names = BEDS[kind]
    return BedHost(replace(laptops.ALL[name](), drives=dict.fromkeys(names, told(kind, tree))))


def leaves(tree: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    rows: Any = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in rows:
        if key in UNLIKELY:
            continue
        if isinstance(value, (dict, list)):
            yield from leaves(value, (*way, key))
        yield (*way, key)


def put(tree: Any, way: tuple[Any, ...], value: Any) -> Any:
    changed = copy.deepcopy(tree)
    at = changed
    for key in way[:-1]:
        at = at[key]
    at[way[-1]] = value
    return changed


def judged(tree: Any) -> tuple[Finding, ...]:
    """By what smartctl prints, read back; NaN and Infinity are no JSON, and then there is none."""
    parsed = smart.parse(json.dumps(tree).encode())
    return smart_judge.judge(smart.believed(smart.from_json(parsed)), TABLES.checks)


def failed(found: tuple[Finding, ...]) -> set[str]:
    return {one.check for one in found if one.outcome is Outcome.FAILED}


def passed(found: tuple[Finding, ...]) -> set[str]:
    return {one.check for one in found if one.outcome is Outcome.PASSED}


def _counts(way: tuple[Any, ...], value: Any) -> bool:
    """A figure that may be true of a broken drive: its own verdict, or a count of its own."""
    word = str(way[-1])
    sane = value == "12" or (type(value) is int and 0 <= value <= 65535)
    return word == "passed" or word == "critical_warning" or (sane and word not in ("current",))


@pytest.mark.parametrize("kind", DRIVES)
def test_an_absurd_figure_fails_nothing(kind: str) -> None:
    """H01: each figure in turn is each absurd value; small whole numbers may be true."""
    sound = DRIVES[kind].json()
    before, wrong = failed(judged(sound)), []
    for way in leaves(sound):
        for value in ABSURD:
            found = judged(put(sound, way, value))
            if failed(found) - before and not _counts(way, value):
                wrong.append((way, value, [f.says for f in found if f.outcome is Outcome.FAILED]))
    assert wrong == []


@pytest.mark.parametrize("kind", DRIVES)
def test_through_the_live_path_nothing_falls(kind: str) -> None:
    """H01, H02: the same, a sample of it, by pySMART and the whole run."""
    sound = DRIVES[kind].json()
    for number, way in enumerate(leaves(sound)):
        value = ABSURD[number % len(ABSURD)]
        run = looked(host(kind, put(sound, way, value)), "storage")
        assert defects(run) == [], (way, value)
    for way in leaves(sound):
        if len(way) == 1:
            gone = copy.deepcopy(sound)
            del gone[way[0]]
            run = looked(host(kind, gone), "storage")
            assert defects(run) == [], way


@pytest.mark.parametrize("kind", DRIVES)
def test_what_is_not_told_is_not_passed(kind: str) -> None:
    """H02: without a key no check passes that needed it."""
    sound = DRIVES[kind].json()
    log = "nvme_smart_health_information_log"
    without = {"smart_status": {"storage.health"}, log: {"storage.medium-errors", "storage.wear"},
               "ata_smart_attributes": {"storage.medium-errors", "storage.link-history"},
               "temperature": {"storage.temperature"}}  # fmt: skip
    for key, checks in without.items():
        gone = {k: v for k, v in sound.items() if k != key}
        if kind == "nvme" and key == "smart_status":
            gone[log] = {**sound[log], "critical_warning": None}
        if key in sound:
            assert not passed(judged(gone)) & checks, key


@pytest.mark.parametrize("kind", DRIVES)
def test_two_verdicts_that_contradict_are_no_health(kind: str) -> None:
    """H03: bit 3 of smartctl's exit status and its JSON are two witnesses of one answer."""
    tree = DRIVES[kind].json()
    tree["smartctl"]["exit_status"] = 8
    assert "passed" not in outcomes(looked(host(kind, tree), "storage"), "storage.health")
    tree = DRIVES[kind].json()
    tree["smart_status"] = {"passed": False}
    assert "passed" not in outcomes(looked(host(kind, tree), "storage"), "storage.health")


@pytest.mark.parametrize("celsius", [-128, -40, 0, 121, 128, 255, 32768, 2**48])
@pytest.mark.parametrize("kind", DRIVES)
def test_a_temperature_no_drive_has_is_not_judged(kind: str, celsius: int) -> None:
    """H04: and this is said."""
    tree = {**DRIVES[kind].json(), "temperature": {"current": celsius}}
    found = [one for one in judged(tree) if one.check == "storage.temperature"]
    assert [one.outcome for one in found] == [Outcome.NOT_JUDGED]
    assert str(celsius) in (found[0].why_not or "")


@pytest.mark.parametrize(("used", "outcome"), [(-1, "not judged"), (256, "not judged"),
                                               (65535, "not judged"), (255, "failed"),
                                               (0, "passed")])  # fmt: skip
def test_a_share_of_life_that_cannot_be(used: int, outcome: str) -> None:
    """H05: one byte, which may be past a hundred and no more than 255."""
    tree = DRIVES["nvme"].json()
    log = "nvme_smart_health_information_log"
    tree[log] = {**tree[log], "percentage_used": used}
    assert outcomes(looked(host("nvme", tree), "storage"), "storage.wear") == {outcome}


@pytest.mark.parametrize("spare", [-1, 101, 255, 65535])
def test_spare_blocks_that_cannot_be(spare: int) -> None:
    """H05: said of no drive."""
    tree = DRIVES["nvme"].json()
    log = "nvme_smart_health_information_log"
    tree[log] = {**tree[log], "available_spare": spare}
    found = judged(tree)
    assert not any(str(spare) in one.says for one in found)
    assert not accused(located(looked(host("nvme", tree))))
