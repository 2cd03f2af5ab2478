"""Records of schema 1 are still read: cases kept from the version that wrote them last (5ce2c36).

``schema1`` holds the demo's three cases and eleven of ``tests/simulation``, as JSON that the
version wrote itself.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import msgspec
import pytest

from livecheck import cli, knowledge
from livecheck.diagnosis import locate
from livecheck.records import (
    SCHEMA,
    Answer,
    BoardReplaced,
    Case,
    CleanedPart,
    ComplaintShows,
    DamagedRecord,
    FirmwareFlashed,
    FirstPartBack,
    HowEnded,
    Inventory,
    LastStartEnded,
    PartIs,
    Place,
    PluggedIn,
    Remark,
    RepairedPart,
    Run,
    SettingPutRight,
    Summary,
    WhereShown,
    decode,
)
from livecheck.topology.history import configurations

FOLDER = Path(__file__).parent / "schema1"
KEPT = sorted(file.name.removesuffix(".json.gz") for file in FOLDER.iterdir())
TABLES = knowledge.load()
JACK = Place(id="jack:AC", kind="power-jack", name="power jack")


def kept(name: str) -> dict[str, Any]:
    """The records of one case, as they were written."""
    whole: dict[str, Any] = json.loads(gzip.decompress((FOLDER / f"{name}.json.gz").read_bytes()))
    return whole


def read(name: str) -> tuple[Run, ...]:
    """Its runs as they are read today."""
    return tuple(decode(json.dumps(run).encode(), Run) for run in kept(name)["runs"])


@pytest.mark.parametrize("name", KEPT)
def test_every_kept_case_is_read_and_located(name: str) -> None:
    """Readings, parts and places are what they were, and each answer is understood."""
    old, new = kept(name)["runs"], read(name)
    for before, run in zip(old, new, strict=True):
        assert run.schema == SCHEMA
        assert [r["says"] for r in before["readings"]] == [r.says for r in run.readings]
        assert [p["id"] for p in before["inventory"]["parts"]] == [
            part.id for part in run.inventory.parts
        ]
        assert before["elsewhere"] is run.in_known_good_machine
        assert len(before["answers"]) == len(run.answers)
        assert not any(isinstance(answer, Remark) for answer in run.answers)
        places = {place.id for place in run.inventory.places}
        assert {a.place for a in run.answers if isinstance(a, PartIs | FirstPartBack)} <= places
    found = locate(name, new, TABLES)
    assert sum(found.sides.values()) == pytest.approx(1.0)


def test_a_named_spare_keeps_its_key_and_stays_vouched_for() -> None:
    """Schema 1 told it by a word in the text; the flag says it since."""
    runs = read("simulated-0024")
    named = [a for run in runs for a in run.answers if isinstance(a, PartIs)]
    assert [answer.known_good for answer in named] == [True]
    last = configurations(runs)[-1]
    assert {str(part) for part in last.known_good} == {"cooling:bench spare 1"}
    assert str(last.parts["cooling"]) == "cooling:bench spare 1"


@pytest.mark.parametrize(
    ("about", "says", "answer"),
    [
        ("adapter@jack:AC", "bench spare", ("bench spare", None, True)),
        ("adapter@jack:AC", "adapter: bench spare", (None, "adapter: bench spare", True)),
        ("jack:AC", "known-good adapter", ("known-good adapter", None, True)),
        ("adapter@jack:AC", "customer adapter, no spare", (None, None, False)),
        ("jack:AC", "not a known-good one", (None, None, False)),
        ("jack:AC", "drive:K01", (None, "drive:K01", False)),
        ("jack:AC", "original", FirstPartBack(place="jack:AC")),
        ("adapter@jack:AC", " Original ", FirstPartBack(place="jack:AC")),
        ("jack:AC", "Plugged in", PluggedIn(place="jack:AC")),
        ("cooling@cooling", "cleaned", CleanedPart(part="cooling@cooling")),
        ("firmware", "re-flashed", FirmwareFlashed()),
        ("mainboard", "repaired", RepairedPart(component="mainboard")),
        ("drive:K01", "re-flashed", RepairedPart(component="drive:K01")),
        ("mainboard", "replaced", BoardReplaced()),
        ("drive:K01", "set", SettingPutRight(component="drive:K01")),
        ("last start", "by hand", LastStartEnded(how=HowEnded.BY_HAND)),
        ("complaint", "outside it too", ComplaintShows(where=WhereShown.OUTSIDE)),
        ("complaint", "on Tuesdays", Remark(about="complaint", words="on Tuesdays")),
        ("drive:K01", "replaced", Remark(about="drive:K01", words="replaced")),
        ("jack:DC", "bench spare", Remark(about="jack:DC", words="bench spare")),
        ("changed", "nothing", Remark(about="changed", words="nothing")),
    ],
)
def test_an_answer_of_two_texts_becomes_what_it_meant(
    about: str, says: str, answer: Answer | tuple[str | None, str | None, bool]
) -> None:
    """Every form the old program wrote, or its command line took."""
    if isinstance(answer, tuple):
        name, key, good = answer
        answer = PartIs(place="jack:AC", name=name or says, key=key, known_good=good)
    inventory = msgspec.to_builtins(Inventory(places=(JACK,)))
    old = {"number": 1, "started": "", "schema": 1, "inventory": inventory,
           "answers": [{"about": about, "says": says}]}  # fmt: skip
    assert decode(json.dumps(old).encode(), Run).answers == (answer,)


def test_what_is_not_understood_is_said() -> None:
    """A check that is in no table any more, and words nothing is concluded from."""
    old = kept("simulated-0000")["runs"][0]
    strange = {"check": "storage.oracle", "at": "machine", "outcome": "failed"}
    words = {"about": "changed", "says": "the weather"}
    old = {**old, "readings": [*old["readings"], strange], "answers": [words]}
    found = locate("x", [decode(json.dumps(old).encode(), Run)], TABLES)
    said = " ".join(found.explanation)
    assert "storage.oracle" in said and "the weather" in said


@pytest.mark.parametrize("broken", [{"answers": [{"about": 3}]}, {"answers": 7}, {"inventory": 1}])
def test_what_schema_1_could_not_have_written_is_damaged(broken: dict[str, Any]) -> None:
    """A converter guesses nothing."""
    old = {"number": 1, "started": "", "schema": 1, **broken}
    with pytest.raises(DamagedRecord, match="run record"):
        decode(json.dumps(old).encode(), Run)


@pytest.mark.parametrize("name", [name for name in KEPT if name.startswith("demo")])
def test_a_case_folder_of_schema_1_is_located_and_reported(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As it lies on a shop's drive."""
    whole = kept(name)
    folder = tmp_path / "livecheck-cases" / whole["case"]["id"]
    (folder / "runs").mkdir(parents=True)
    (folder / "case.json").write_text(json.dumps(whole["case"]))
    (folder / "summary.json").write_text(json.dumps(whole["summary"]))
    for number, run in enumerate(whole["runs"], 1):
        (folder / "runs" / f"{number:04d}").mkdir()
        (folder / "runs" / f"{number:04d}" / "run.json").write_text(json.dumps(run))
    assert cli.main(["locate", str(folder), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    summary = decode((folder / "summary.json").read_bytes(), Summary)
    assert decode((folder / "case.json").read_bytes(), Case).schema == SCHEMA
    first = found["component"] or found["candidates"][0]["component"]
    # Today's engine wants a port's contacts cleaned before it names the board: open, not other.
    assert found["side"] in (summary.side.value, "undetermined")
    assert first == summary.component or first.startswith("contact:")
    assert cli.main(["report", str(folder)]) == 0
    assert (folder / "report.html").stat().st_size > 10_000
