"""The whole flow by ear and three keys, over recorded machines: what is said is what is compared.

What has to be said and asked, and that nothing loads the machine before it was announced, is
issue 25's own list; the rest is held against the records the runs left behind.
"""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from livecheck import knowledge
from livecheck.casefile import Shop
from livecheck.casefile.folder import Loaded
from livecheck.cli import main
from livecheck.console.blind.run import START_SECONDS, announced
from livecheck.console.blind.session import Session
from livecheck.lamp_codes import Signal
from livecheck.plan import Plan, planned_probes
from livecheck.probes import registry
from livecheck.records import Complaint, Outcome
from livecheck.voice.talk import Talk
from livecheck.wording import catalogue, text
from tests.console.blind.support import (
    AGAIN,
    CAPTURES,
    GONE,
    NO,
    OTHER,
    YES,
    Fingers,
    InRun,
    Listed,
    Recorder,
    Shown,
    Switch,
    recorded,
    start,
)
from tests.testbeds.screens import with_panel

PORT_1, PORT_2 = "port-1.capture.gz", "port-2.capture.gz"
KEYS = "Enter is yes, Escape is no, the space bar says it again."


def _case(shop: Path) -> Loaded:
    (entry,) = Shop(shop).entries()
    folder = Shop(shop).named(entry.case.id if entry.case else None)
    assert folder is not None
    assert folder.report_file.is_file(), "the report is written without being asked for"
    return folder.load()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop drive."""
    folder = tmp_path / "shop"
    folder.mkdir()
    return folder


def test_a_dark_panel_from_the_first_start_to_the_second_run(shop: Path, tmp_path: Path) -> None:
    """No screen is ever looked at: looks are answered by keys, the panel's swap shows by itself."""
    own = recorded(tmp_path, with_panel())
    first = start(shop, own, [YES, YES, NO, NO, YES, YES, YES, GONE])
    assert first.said[:6] == [
        "livecheck speaks. The machine is looked at first; that loads nothing.",
        "Talnau Wander 14: 10 parts are seen.",
        "A new case is opened, for: no picture.",
        "Now a run is made for: no picture. It is saved on the shop drive. Nothing is written to "
        "the machine's own drives, and it is not switched off.",
        f"There are {sum(p.passive for p in registry.ALL)} looks that load nothing.",
        "Nothing is loaded in this run.",
    ]
    told = [one for one in first.said if one.startswith("The verdict.")]
    assert len(told) == 2
    assert "most likely panel" in told[1]
    seen = {r.check: r.outcome for r in _case(shop).runs[1].readings}
    assert seen["bench.external-screen"] is Outcome.PASSED
    assert seen["bench.own-screen"] is Outcome.FAILED
    end = first.said[-1 - first.said[::-1].index(told[1]) :]
    steps = [n for n, one in enumerate(end) if one.startswith("Next step: ")]
    assert "thin glass" in end[steps[0] - 1], "the caution comes before its step"

    spare = recorded(tmp_path, with_panel(serial=0x99))
    second = start(shop, spare, [NO, GONE])
    assert any("panel connector: swapped" in one for one in second.said)
    assert "This machine has an open case: " in second.said[2]
    assert second.after("The verdict.")[0].startswith("The verdict.")
    runs = _case(shop).runs
    assert [run.number for run in runs] == [1, 2, 3]
    assert all(run.finished for run in runs)


def test_the_case_of_a_ticket_goes_on_with_its_own_complaint(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Word for word: what changed, what was proposed, one question, the verdict, the way on."""
    source = ["--from", str(CAPTURES / PORT_1), "--shop", str(shop), "--ticket", "77"]
    assert main(["run", "--complaint", "unstable", *source]) == 0
    before = capsys.readouterr().out
    heard = start(shop, PORT_2, [NO, GONE])
    assert "move to another place: drive OSTREVAR S3 480GB" in before
    assert heard.said[2:9] == [
        "This machine has an open case: ticket 77. It is for: crashes or freezes. Runs so far: 1.",
        "Changed since the last run: SATA port 1: swapped (drive OSTREVAR S3 480GB to drive "
        "OSTREVAR S3 120GB).",
        "So far: " + before.partition("\nNext:")[0].replace("\n", " ").replace("\u00a0", " "),
        "Proposed was: move to another place: drive OSTREVAR S3 480GB.",
        "Was anything else done, that no number on a part tells?",
        KEYS,
        "Now a run is made for: crashes or freezes. It is saved on the shop drive. Nothing is "
        "written to the machine's own drives, and it is not switched off.",
    ]
    end = heard.after("Run 2 and the report are saved")
    assert end[0] == "Run 2 and the report are saved in case 2026-03-02-77."
    assert heard.codes[-1][0] is Signal.UNDETERMINED
    assert _case(shop).runs[1].complaint is Complaint.UNSTABLE


def test_what_no_number_tells_is_asked_by_yes_and_no(shop: Path) -> None:
    start(shop, PORT_1, [])
    heard = start(shop, PORT_1, [YES, YES, *[NO] * 2, YES])
    questions = heard.after("Was anything else done")
    assert questions[2] == "Was a part taken out and put back?"
    labels = [one for one in questions[3:] if one.endswith("?")][:3]
    assert all(":" in one for one in labels), "each place, and the part in it"
    run = _case(shop).runs[1]
    assert len(run.reseated) == 1
    # Nobody was at the keys after that: what was not answered is not told.
    assert run.answers == () and run.known_good == ()


def test_a_dark_machine_is_asked_for_by_its_ticket(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Measured at the shop's own computer, its case knows no machine by name."""
    answers = tmp_path / "answers.toml"
    answers.write_text('[answers]\nsigns-of-life = "yes"\nown-screen = "nothing"\n', "utf-8")
    for ticket in ("41", "42"):
        words = ["--readings", str(answers), "--shop", str(shop), "--ticket", ticket]
        assert main(["run", "--complaint", "no-picture", *words]) == 0
    capsys.readouterr()
    heard = start(shop, PORT_1, [NO, YES])
    assert [one for one in heard.said if "Is it the machine of ticket" in one] == [
        text("voice.is-it", ticket="41"), text("voice.is-it", ticket="42")
    ]  # fmt: skip
    assert any("ticket 42" in one and "Runs so far: 1" in one for one in heard.said)
    cases = {e.case.ticket: e for e in Shop(shop).entries() if e.case}
    assert len(cases) == 2, "no third case was opened"
    numbers = {t: len(list(Path(e.path).glob("runs/*/run.json"))) for t, e in cases.items()}
    assert numbers == {"41": 1, "42": 2}


# --- Keys that are wrong, or do not come; no sound; no drive


def test_a_wrong_key_is_told_and_the_third_one_repeats(shop: Path) -> None:
    heard = start(shop, PORT_1, [OTHER, AGAIN, NO, GONE])
    asked = heard.after("Shall it be looked at")
    question = asked[0]
    assert asked[:6] == [question, KEYS, "That key means nothing here.", KEYS, question, question]
    assert asked[6] == "Can that step not be done here? Then another one is proposed."


def test_without_any_key_it_runs_saves_and_tells_all_the_same(shop: Path) -> None:
    """And asks twice before it takes silence for an answer."""
    start(shop, PORT_1, [])
    heard = start(shop, PORT_1, [None, None, None, None, GONE])
    question = "Was anything else done, that no number on a part tells?"
    assert heard.said.count(question) == 2
    assert "No key came; that is taken as no." in heard.said
    assert any(one.startswith("The verdict.") for one in heard.said)
    assert heard.waits[-1] is None, "then it waits for whoever comes back"
    assert len(_case(shop).runs) == 2
    assert all(beeps for _, beeps in heard.codes), "nobody has answered: it beeps besides"


def test_with_no_sound_all_is_beeped_and_printed(shop: Path) -> None:
    heard = start(shop, PORT_1, [NO, NO, GONE], trouble="there is no sound card")
    assert heard.said == []
    assert "Trouble: there is no sound card" in heard.printed
    assert heard.printed.count("Trouble: there is no sound card") == 1
    assert all(beeps for _, beeps in heard.codes)
    assert len(_case(shop).runs) == 1


def test_what_is_said_is_what_is_printed(shop: Path) -> None:
    heard = start(shop, PORT_1, [NO, GONE])
    assert heard.said == heard.printed


def test_a_drive_that_takes_nothing_is_told(tmp_path: Path) -> None:
    heard = start(tmp_path / "gone", PORT_1, [NO])
    assert heard.said[1].startswith("Trouble: ")
    assert "is not a folder" in heard.said[1]
    assert heard.codes[-2][0] is Signal.TROUBLE
    assert heard.said[2] == "Shall it be tried once more, from the start?"


# --- The run


def test_a_run_is_stopped_by_a_key_and_only_once_that_was_confirmed(shop: Path) -> None:
    heard = start(shop, PORT_1, [InRun(NO), YES, GONE])
    asked = heard.after("Shall the run be stopped?")
    assert asked[2] == "Stopping." or asked[1] == "Stopping."
    (run,) = _case(shop).runs
    assert run.stopped and not run.finished


def test_how_far_it_is_can_be_asked(shop: Path) -> None:
    heard = start(shop, PORT_1, [InRun(AGAIN), InRun(OTHER), GONE])
    assert any("probes are done. Failed readings so far:" in one for one in heard.said)
    assert text("voice.in-run") in heard.said
    assert _case(shop).runs[0].finished


def _announced(plan: Plan, keys: Listed) -> tuple[Plan, Recorder, Fingers]:
    recorder, fingers = Recorder(), Fingers(keys)
    talk = Talk(recorder, fingers, Shown(), lambda words: None)
    return asyncio.run(announced(talk, plan, replayed=False)), recorder, fingers


@pytest.mark.parametrize("complaint", Complaint)
def test_every_load_is_announced_before_it_can_begin(complaint: Complaint) -> None:
    plan = Plan(complaint=complaint)
    wanted, recorder, fingers = _announced(plan, [None])
    assert wanted == plan, "no key: it goes by itself"
    loads = [probe for probe in planned_probes(plan) if not probe.passive]
    for probe in loads:
        assert text(f"voice.load.{probe.name}") in recorder.said
        for name in probe.cautions:
            caution = knowledge.load().cautions[name].text
            assert any(caution in one for one in recorder.said[: -len(loads) - 3])
    if loads:
        assert fingers.waits == [START_SECONDS], "and ten seconds pass before"
        assert recorder.said[-1] == "It starts now."


def test_loads_are_left_out_where_they_are_not_wanted() -> None:
    plan = Plan(complaint=Complaint.UNSTABLE, soak_hours=2.0)
    wanted, recorder, _ = _announced(plan, [NO])
    assert planned_probes(wanted)
    assert all(probe.passive for probe in planned_probes(wanted))
    assert "What loads the machine is left out." in recorder.said
    assert any("The load lasts 2 hours" in one for one in recorder.said)


def test_every_probe_that_loads_says_what_it_does() -> None:
    """And no text is kept for a probe that is gone."""
    told = {key.removeprefix("voice.load.") for key in catalogue() if key.startswith("voice.load.")}
    assert told == {probe.name for probe in registry.ALL if not probe.passive}


# --- Switching off


def _played(shop: Path, keys: Listed) -> tuple[int, list[str]]:
    async def play() -> tuple[int, list[str]]:
        recorder = Recorder()
        link = Switch(shop, CAPTURES / PORT_1)
        talk = Talk(recorder, Fingers(keys), Shown(), lambda words: None)
        await Session(talk, link, True).play()
        return link.off, recorder.said

    return asyncio.run(play())


def test_it_is_switched_off_on_a_yes_and_never_else(shop: Path) -> None:
    """The ways on, in their order: a look, another step, a run, the verdict again, off."""
    off, said = _played(shop, [NO, NO, NO, NO, YES])
    assert off == 1
    assert said[-2:] == ["It is switched off now. What was saved stands.", text("voice.ended")]
    for keys in ([NO] * 20, [None] * 9, [OTHER] * 9, [AGAIN] * 9):
        assert _played(shop, keys)[0] == 0


def test_the_screen_takes_over_where_it_is_wanted(shop: Path) -> None:
    heard = start(shop, PORT_1, [NO, NO, NO, NO, NO, YES])
    assert heard.to_screen
    assert not heard.keys_left


def test_what_stands_behind_the_verdict_is_said_when_asked(shop: Path) -> None:
    heard = start(shop, PORT_1, [NO, NO, NO, YES, GONE])
    again = heard.after("Shall the verdict be said again")
    assert again[1].startswith("The verdict.")
    assert any(" %: " in one for one in again), "who could be at fault"
    assert again[-2].startswith("Shall it be looked at"), "and the ways on are offered anew"


def test_a_step_that_cannot_be_done_brings_another(shop: Path) -> None:
    heard = start(shop, PORT_1, [NO, YES, GONE])
    steps = [one for one in heard.said if one.startswith("Next step: ")]
    assert len(steps) == 2 and steps[0] != steps[1]
    assert len(_case(shop).case.cannot) == 1


# --- Begun by itself


@pytest.mark.parametrize("because", ["no-key", "no-display"])
def test_who_sees_the_screen_after_all_goes_back_to_it(shop: Path, because: str) -> None:
    heard = start(shop, PORT_1, [NO], because=because)
    assert heard.to_screen
    assert heard.said[0] == text(f"voice.because.{because}")
    assert heard.waits == [START_SECONDS]
    assert Shop(shop).entries() == [], "and nothing was done to the machine"


def test_what_began_by_itself_goes_on_without_a_key(shop: Path) -> None:
    heard = start(shop, PORT_1, [None, GONE], because="no-display")
    assert not heard.to_screen
    assert any(one.startswith("The verdict.") for one in heard.said)
