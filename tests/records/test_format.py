"""The published format of records: true to the records, and enough for another program.

Records are held against it by an independent validator, ``jsonschema``, an implementation
of JSON Schema 2020-12.
"""

from __future__ import annotations

import gzip
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from livecheck import cli, demo, knowledge, record_format
from livecheck.records import SCHEMA, Run, decode, encode
from livecheck.report.record_format import EXAMPLE, record_format_page
from tests import factories, pictures
from tests.report.pages import Page

DOCUMENT = record_format.document()
TABLES = knowledge.load()


def faults(record: dict[str, Any], kind: str) -> list[str]:
    """What the validator has against a record of this kind."""
    schema = {**DOCUMENT, "anyOf": [{"$ref": f"#/$defs/{kind}"}]}
    return [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(record)]


def folder(to: Path, files: dict[str, str]) -> Path:
    """A case folder that another program wrote."""
    for name, body in files.items():
        (to / name).parent.mkdir(parents=True, exist_ok=True)
        (to / name).write_text(body, "utf-8")
    return to


def test_the_schema_kept_is_that_of_today() -> None:
    kept = pictures.SCHEMA_FILE.read_text("utf-8")
    assert kept == record_format.text(), "make it anew: python -m tests.remake pages"


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(DOCUMENT)


@pytest.mark.slow
def test_every_file_that_the_program_saves_is_of_the_schema(tmp_path: Path) -> None:
    """The demo's three cases: cases, runs and summaries."""
    for _ in demo.play(tmp_path, TABLES):
        pass
    kinds = {"case.json": "Case", "run.json": "Run", "summary.json": "Summary"}
    seen = []
    for file in sorted(tmp_path.rglob("*.json")):
        assert not faults(json.loads(file.read_text("utf-8")), kinds[file.name]), file
        seen.append(file.name)
    assert set(seen) == set(kinds) and seen.count("run.json") >= 6


@pytest.mark.slow
def test_records_of_schema_1_are_of_it_once_they_are_converted() -> None:
    """Every kept run: its answers, facts and readings in today's form."""
    count = 0
    for file in sorted((Path(__file__).parent / "schema1").iterdir()):
        for run in json.loads(gzip.decompress(file.read_bytes()))["runs"]:
            now = encode(decode(json.dumps(run).encode(), Run))
            assert not faults(json.loads(now), "Run"), file.name
            count += 1
    assert count > 100


def test_the_schema_refuses_what_the_program_refuses() -> None:
    """A field that is missing, of another type, a word that is none, another schema."""
    whole = json.loads(encode(factories.port_and_battery().runs[0]))
    assert not faults(whole, "Run")
    broken: list[dict[str, Any]] = [
        {**whole, "number": "one"},
        {key: value for key, value in whole.items() if key != "started"},
        {**whole, "complaint": "haunted"},
        {**whole, "answers": [{"told": "nothing"}]},
        {**whole, "readings": [{"check": "storage.health", "outcome": "failed"}]},
        {**whole, "schema": SCHEMA + 1},
    ]
    assert all(faults(record, "Run") for record in broken)


def test_every_field_that_is_not_plain_says_what_it_means() -> None:
    """Each definition has its meaning; most fields have one of their own."""
    definitions = record_format.definitions()
    assert all(one.get("description") for one in definitions.values() if "properties" in one)
    reading = definitions["Reading"]["properties"]
    assert "never says" in definitions["Reading"]["description"]
    assert reading["covered"]["description"].startswith("Share (0 … 1)")


def test_the_page_shows_every_record_and_field() -> None:
    told = Page(record_format_page()).text()
    for name, one in record_format.definitions().items():
        assert name in told
        assert all(field in told for field in one.get("properties", {}))


def test_the_smallest_case_of_the_page_is_judged(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As another program would write it: it is valid, located and reported."""
    for name, body in EXAMPLE.items():
        kind = record_format.FILES[name].__name__
        assert not faults(json.loads(body), kind)
    case = folder(tmp_path / "case", EXAMPLE)
    assert cli.main(["locate", str(case), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["runs"] == 1
    assert {"drive:QX-4471", "bay-1", "sata"} <= {c["component"] for c in found["candidates"]}
    assert found["next_step"] is not None
    assert cli.main(["report", str(case)]) == 0
    assert (case / "report.html").is_file()


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("runs/0001/run.json", ('"at": "drive:QX-4471", ', ""), "`at`"),
        ("runs/0001/run.json", ('"failed"', '"broken"'), "broken"),
        ("runs/0001/run.json", ('"number": 1', '"number": 3'), "it is run 3"),
        ("runs/0001/run.json", ('"schema": 2', '"schema": 9'), "schema 9"),
        ("runs/0001/run.json", ('"readings": [', '"readings": ['[:-1]), "not a whole run"),
        ("case.json", ('"id": "2026-05-04-B12",', ""), "`id`"),
        ("runs/0001/run.json", ("storage.medium-errors", "storage.rattles"), "storage.rattles"),
        ("runs/0001/run.json", ('"at": "drive:QX-4471"', '"at": "drive:Z"'), "drive:Z"),
    ],
)
def test_what_is_wrong_with_a_record_is_said(
    name: str,
    change: tuple[str, str],
    says: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """By the file and the field; what can be judged is judged all the same."""
    files = {**EXAMPLE, name: EXAMPLE[name].replace(*change)}
    assert files[name] != EXAMPLE[name]
    code = cli.main(["locate", str(folder(tmp_path / "case", files))])
    told = capsys.readouterr()
    assert says in told.out + told.err
    assert code == (3 if name == "case.json" else 0)


def test_the_command_writes_schema_and_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["record-format"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(record_format.text())
    page = tmp_path / "format.html"
    assert cli.main(["record-format", "--html", str(page)]) == 0
    assert page.read_text("utf-8") == record_format_page()
