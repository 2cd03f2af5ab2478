"""The worksheet from the command line and from prompts: same answers, same case.

Limits: the tolerance table of shared/worksheet.toml, whose sources stand there; the worked
band of a 19.5 V label, 18.53 to 20.48 V, is 19.5 V ±5 % (rule of thumb, computed).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from livecheck import cli, knowledge
from livecheck.diagnosis.worksheet import steps
from livecheck.diagnosis.worksheet_words import BadAnswers, read_label, supply_of
from livecheck.records import Complaint

SOUND = """
[label]
volts = 19.5
amps = 3.33
[answers]
adapter-open-voltage = 19.6
adapter-loaded-voltage = 19.2
"""


def test_a_machine_without_power(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A dead adapter: the file is judged, saved, and the adapter named first."""
    file = tmp_path / "sheet.toml"
    file.write_text(SOUND.replace("19.6", "0.0").replace("19.2", "0.0"))
    words = ["run", "--complaint", "no-power", "--readings", str(file), "--json"]
    assert cli.main([*words, "--shop", str(tmp_path)]) == 0
    result = json.loads(capsys.readouterr().out)
    failed = {r["check"] for r in result["run"]["readings"] if r["outcome"] == "failed"}
    assert "bench.adapter-output" in failed
    assert result["location"]["side"] == "device"
    assert result["location"]["unit"] == "adapter"
    missed = [m["what"] for m in result["run"]["not_tested"]]
    assert len(missed) == len(steps(Complaint.NO_POWER, knowledge.worksheet())) - 2 + 1


@pytest.mark.parametrize("supply", ['supply = "usb-pd"', ""])
def test_a_sound_usb_c_adapter_is_not_condemned(
    supply: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """5.1 V at rest, 20 V on its label: nothing is wrong, whether or not the plug was told."""
    file = tmp_path / "sheet.toml"
    label = f"[label]\nvolts = 20\nwatts = 65\n{supply}\n"
    file.write_text(f'{label}[answers]\nadapter-open-voltage = "5.1 V"\n')
    words = ["run", "--complaint", "no-power", "--readings", str(file), "--json"]
    assert cli.main([*words, "--shop", str(tmp_path)]) == 0
    result = json.loads(capsys.readouterr().out)
    assert not any(r["outcome"] == "failed" for r in result["run"]["readings"])
    assert result["location"]["unit"] != "adapter"


def test_nobody_there_to_answer(tmp_path: Path) -> None:
    """Without a terminal and without a file: wrong usage, and what to give."""
    done = subprocess.run(
        [sys.executable, "-m", "livecheck", "run", "--complaint", "no-power", "--shop", tmp_path],
        stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "--readings FILE" in done.stderr


def test_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An impossible figure is refused with the step's name and its range; nothing is saved."""
    file = tmp_path / "sheet.toml"
    file.write_text(SOUND.replace("19.6", "1960"))
    words = ["run", "--complaint", "no-power", "--readings", str(file), "--shop", str(tmp_path)]
    assert cli.main(words) == 3
    assert "adapter-open-voltage" in capsys.readouterr().err
    assert not (tmp_path / "livecheck-cases").exists()


@pytest.mark.parametrize(
    ("words", "volts", "amps", "supply"),
    [
        ("19.5 V 3.33 A", 19.5, 3.33, "barrel"),
        ("19,5V 3,33A", 19.5, 3.33, "barrel"),
        ("20V 65W usb-pd", 20.0, 3.25, "usb-pd"),
        ("19 v", 19.0, None, "barrel"),
        ("20 V 65 W", 20.0, 3.25, None),
        ("65 W 20 V USB-C", 20.0, 3.25, "usb-pd"),
        ("Output: 5V 3A / 9V 3A / 15V 3A / 20V 3.25A", 20.0, 3.25, "usb-pd"),
        ("20 V \u2393 3.25 A, 5 V \u2393 3 A", 20.0, 3.25, "usb-pd"),
    ],
)
def test_labels(words: str, volts: float, amps: float | None, supply: str | None) -> None:
    """A label as a technician types it; watts over volts are amperes."""
    sheet = knowledge.worksheet()
    label = read_label(words, sheet)
    assert (label.volts, label.amps, supply_of(label, sheet)) == (volts, amps, supply)


@pytest.mark.parametrize("words", ["", "abc", "3.33 A", "19.5", "190 V", "19.5 V 3.33 kg"])
def test_labels_that_are_none(words: str) -> None:
    """What cannot be a label is refused with words."""
    with pytest.raises(BadAnswers):
        read_label(words, knowledge.worksheet())


def test_prompts_on_a_terminal(tmp_path: Path) -> None:
    """Through a pseudo-terminal: label, two values, the rest left out; the case is saved."""
    import pty

    master, slave = pty.openpty()
    words = [sys.executable, "-m", "livecheck", "run", "--complaint", "no-power", "--json"]
    process = subprocess.Popen(
        [*words, "--shop", tmp_path],
        stdin=slave, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    os.close(slave)
    os.write(master, b"round\n19.5 V 3.33 A\n\n19.6 V\n19,2\n\x04")
    out, err = process.communicate(timeout=60)
    os.close(master)
    assert process.returncode == 0
    assert "CAUTION" in err
    assert err.index("USB-C?") < err.index("label, as in")
    assert "= 19.6 V" in err
    result = json.loads(out)
    values = {r["value"] for r in result["run"]["readings"] if r["outcome"] == "passed"}
    assert {19.6, 19.2} <= values
