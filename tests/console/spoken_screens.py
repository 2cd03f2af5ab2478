"""Every screen of the console with something on it, and what is read on them.

A screen is made from a case as it is judged and worded now: in the language that is spoken.
"""

from __future__ import annotations

import ast
import errno
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import ModuleType
from typing import Any, Final, NamedTuple

import msgspec
import pytest
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input, Static

from livecheck import (
    drive_test,
    flex,
    found_words,
    guided,
    knowledge,
    languages,
    meters,
    signing,
    worded,
    worded_forms,
    worded_runs,
    wording,
)
from livecheck.casefile import CaseFolder, Shop
from livecheck.casefile.shop import explain
from livecheck.console import app as console
from livecheck.console import case_files, theme, verdict_lines
from livecheck.console.answers import RunOptions
from livecheck.console.evidence_lines import behind, taken_at
from livecheck.console.frame import BenchApp, BenchScreen, KeyLine, TitleLine, english_told
from livecheck.console.judged_case import JudgedCase
from livecheck.console.progress import in_words
from livecheck.console.replies import Known, Looked, Pickable, Proposed
from livecheck.console.screens.cases import CasesScreen
from livecheck.console.screens.evidence import EvidenceScreen, ReadingScreen
from livecheck.console.screens.flex import FlexScreen
from livecheck.console.screens.guided import GuidedScreen
from livecheck.console.screens.help import HelpScreen
from livecheck.console.screens.intake import IntakeScreen
from livecheck.console.screens.meters import MetersScreen
from livecheck.console.screens.options import OptionsScreen
from livecheck.console.screens.parts import PartsScreen
from livecheck.console.screens.pick import TellScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.running import RunningScreen
from livecheck.console.screens.self_test import SelfTestScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.step import StepScreen
from livecheck.console.screens.tree import TreeScreen
from livecheck.console.screens.unsaved import UnsavedScreen
from livecheck.console.screens.verdict import VerdictScreen, sheets_of
from livecheck.console.screens.worksheet import WorksheetScreen
from livecheck.console.text_list import TextList
from livecheck.console.views import HelpView, Notice
from livecheck.console.workflows import looking
from livecheck.flex.counter import FlexResult, Loss
from livecheck.flex.readings import shortest
from livecheck.flex.watch import Look
from livecheck.guided.rows import GuideOffer, GuideTarget
from livecheck.partssheet.table import part_words
from livecheck.probes import Progress, registry
from livecheck.probes.runner import Event
from livecheck.records import Complaint, Machine, Outcome, ProbeRun, Reading, ToldLine
from livecheck.wording import text
from tests.inventory.fake_host import FakeHost
from tests.report import customers_part

SAYS: Final = "The drive says of itself that it is failing"
"""What a probe says on these screens."""
PRINTED: Final = ("WLAN", "SSD", "DIMM", "ohm")
"""On the board beside a place, and on a meter."""
DEVICES: Final = ("ath10k_pci", "phy0", "wlan", "wlan0", "Grauwerk Firmware", "CPU", "Package id",
                  "AC", "BAT0", "ATA bus error (SError: 10B8B BadCRC)", "Wh", "ms")  # fmt: skip
"""What drivers, firmware and the kernel's log call things, and units."""
ADVISED: Final = (errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EIO, errno.ENODEV, errno.EBUSY)
_FUNCTION_KEY: Final = re.compile(r"F\d+")
NAMES: Final = ("Kestrel K5", "T-77", "K-9", "/srv/shop", "file.json", "Das WILL ich",
                "DEMO-1", "DEMO-2", "DEMO-3")  # fmt: skip


class Ground(NamedTuple):
    """What the screens are made from."""

    case: JudgedCase
    shop: Path


class Bench(BenchApp):
    """An app with nothing but what every screen relies on."""

    CSS_PATH = Path(console.__file__).with_name("app.tcss")

    def on_mount(self) -> None:
        theme.use_console_glyphs()
        self.register_theme(theme.BENCH)
        self.theme = theme.BENCH.name


Act = Callable[[Pilot[int], Any], None]


def _start(ground: Ground) -> tuple[Screen[Any], Act]:
    def look(_: Pilot[int], screen: StartScreen) -> None:
        machine = Machine(vendor="Kestrel", product="Kestrel K5")
        screen.show(Looked(machine=machine, devices=40, parts=9, shop="/srv/shop", as_root=False,
                           lasts=False, places=(), numbered=(), unnumbered=(), treated=(),
                           kinds=()))  # fmt: skip
        screen.intake(2, [one.text for one in ground.case.tables.cautions.values()][:1])
        screen.options(RunOptions(depth="full", probes=(registry.ALL[0].name,)).says())

    return StartScreen(), look


def _intake(ground: Ground) -> tuple[Screen[Any], Act]:
    sheet = ground.case.tables.intake
    told = [ToldLine(about=row.about, words=row.choices[0]) for row in sheet.values()
            if row.choices]  # fmt: skip
    told += [ToldLine(about="words", words="Das WILL ich"), ToldLine(about="note", words="K-9")]
    return IntakeScreen(sheet, told), _nothing


def _running(_: Ground) -> tuple[Screen[Any], Act]:
    first, second, third, fourth = registry.ALL[:4]

    def happen(_: Pilot[int], screen: RunningScreen) -> None:
        lost = Reading(check="x", at="machine", outcome=Outcome.FAILED, says=SAYS)
        over = ProbeRun(probe=third.name, seconds=1.0, ended="did not answer")
        done = ProbeRun(probe=fourth.name, seconds=2.0, ended="done")
        for event in (
            Event(kind="started", probe=first.name, title=first.title),
            Event(kind="started", probe=second.name, title=second.title),
            Event(kind="progress", probe=second.name, title=second.title,
                  progress=Progress(says=SAYS, done=0.4, seconds_left=12)),
            Event(kind="reading", probe=first.name, title=first.title, reading=lost, where="K-9"),
            Event(kind="ended", probe=third.name, title=third.title, ended=over),
            Event(kind="ended", probe=fourth.name, title=fourth.title, ended=done),
        ):  # fmt: skip
            screen.happened(in_words(event, {}))
        screen.draw()

    return RunningScreen(registry.ALL, {}), happen


def _resume(ground: Ground) -> tuple[Screen[Any], Act]:
    from livecheck.console.survey import _kinds, _treated

    inventory, case = ground.case.loaded.runs[-1].inventory, ground.case
    part = (Pickable("a", "K-9"),)
    looked = Looked(machine=Machine(), devices=1, parts=1, shop="/srv/shop", as_root=True,
                    places=part, numbered=part, unnumbered=part,
                    treated=_treated(inventory, case.tables, case.names),
                    kinds=_kinds(inventory, case.tables))  # fmt: skip
    known = Known(case="K-9", ticket="T-77", complaint=Complaint.UNSTABLE, runs=2, number=3,
                  same_machine=True, cut_off=True, stopped=True, changes=("K-9",),
                  damaged=("file.json",), cannot=(), lasted={}, lasted_depth="quick")  # fmt: skip
    said = Proposed(sentence=case.location.sentence, step=None, action=None)
    return ResumeScreen(looked, known, said), _nothing


def _verdict(ground: Ground) -> tuple[Screen[Any], Act]:
    return VerdictScreen(ground.case), _nothing


def _step(ground: Ground) -> tuple[Screen[Any], Act]:
    return StepScreen(ground.case), _nothing


def _evidence(ground: Ground) -> tuple[Screen[Any], Act]:
    proofs = [*behind(ground.case, "verdict"), *behind(ground.case, "untested")]
    for one in ground.case.location.candidates[:3]:
        proofs += [*behind(ground.case, f"component:{one.component}"),
                   *taken_at(ground.case, one.component)]  # fmt: skip
    return EvidenceScreen(ground.case.location.sentence, proofs), _nothing


def _reading(ground: Ground) -> tuple[Screen[Any], Act]:
    reading = Reading(check="x", at="K-9", outcome=Outcome.NOT_JUDGED, says=SAYS, value=True,
                      why_not=SAYS, source=SAYS, conditions=(SAYS,), details=("K-9",))  # fmt: skip
    return ReadingScreen("K-9", worded_runs.worded_reading(reading, {})), _nothing


def _tree(ground: Ground) -> tuple[Screen[Any], Act]:
    return TreeScreen(ground.case), _nothing


def _cases(ground: Ground) -> tuple[Screen[Any], Act]:
    found = case_files.list_cases(ground.shop, "", lambda done, of: None)
    assert not isinstance(found, str)
    return CasesScreen(ground.shop, found), _nothing


def _worksheet(ground: Ground) -> tuple[Screen[Any], Act]:
    sheet = worded_forms.worded_sheet(knowledge.worksheet())

    def answer(_: Pilot[int], screen: WorksheetScreen) -> None:
        for step in sheet.step:
            screen._answers[step.name] = step.choices[0] if step.choices else 1.5
        screen._index = 0
        screen._show()

    return WorksheetScreen(Complaint.NO_POWER, sheet, ground.case.tables), answer


def _unsaved(_: Ground) -> tuple[Screen[Any], Act]:
    return UnsavedScreen(SAYS, "/srv/shop"), _nothing


def _options(_: Ground) -> tuple[Screen[Any], Act]:
    return OptionsScreen(RunOptions()), _nothing


def _help(ground: Ground) -> tuple[Screen[Any], Act]:
    """That of the start screen, with the list of complaints under the bar."""
    seen: list[HelpView] = []
    screen = StartScreen()

    def ask(pilot: Pilot[int], start: StartScreen) -> None:
        start.say = seen.append  # type: ignore[method-assign, assignment]
        start.action_help()
        pilot.app.push_screen(HelpScreen(seen[0]))

    return screen, ask


def _parts(ground: Ground) -> tuple[Screen[Any], Act]:
    lead = ground.case.location.candidates[0].component
    return PartsScreen(sheets_of(ground.case, f"component:{lead}")), _nothing


def _big(ground: Ground) -> tuple[Screen[Any], Act]:
    words = verdict_lines.big_words(ground.case)
    return TellScreen(" ".join(words), words), _nothing


def _guided(ground: Ground) -> tuple[Screen[Any], Act]:
    """The list, and what each check begins with, on a notice behind it."""
    table, thing = knowledge.guided(), GuideTarget(component="machine", name="K-9", path="/srv")
    offers = [GuideOffer(row=row, targets=(thing,)) for row in table.check]
    host: Any = None
    screen = GuidedScreen(offers, table, ground.case.tables, host, host)
    begun: list[str] = []
    for offer in offers:
        asked = msgspec.structs.replace(offer, row=worded_forms.worded_row(offer.row))
        step = guided.open_guide(asked, ground.case.tables, table).start()
        answers = (worded.table_word(f"guide-answer.{worded.slug(c.title)}", c.title)
                   for c in step.choices)  # fmt: skip
        begun += [*step.lines, step.question or "", *answers] if not step.done else []

    def begin(_: Pilot[int], __: Any) -> None:
        screen.mount(*(Static(words) for words in begun))

    return screen, begin


def _self_test(ground: Ground) -> tuple[Screen[Any], Act]:
    """A drive at its own test, how far it is, and what came before it on another screen."""
    parts = ground.case.loaded.runs[-1].inventory.parts
    drive = next(part for part in parts if part.kind == "drive")
    state = drive_test.SelfTestState(percent_left=40, minutes={"short": 2})
    host: Any = None
    screen = SelfTestScreen(host, drive, "sg0", state, "short")
    screen._follow = lambda: None  # type: ignore[method-assign, assignment, misc]
    says, *heed = drive_test.explained(drive, state, "long", ground.case.tables, "X")

    def follow(_: Pilot[int], __: Any) -> None:
        screen._state = state
        screen._draw()
        screen.mount(*(Static(english_told(words)) for words in (says, *heed)))

    return screen, follow


def _flex(_: Ground) -> tuple[Screen[Any], Act]:
    losses = (Loss(start=2.0, seconds=0.5, uncertain=0.1, over=False),)
    host: Any = None
    screen = FlexScreen(host, flex.Supply("AC", "/sys/ac", "Mains", True))
    screen._watch = lambda: None  # type: ignore[method-assign, assignment, misc]

    def result(label: str | None) -> FlexResult:
        return FlexResult(supply="AC", seconds=9.0, looks=90, losses=losses, longest_gap=0.1,
                          usual_gap=0.1, fed_at_start=True, label=label)  # fmt: skip

    def watch(_: Pilot[int], __: Any) -> None:
        screen.take(Look(seconds=9.0, supply="AC", lost=True, changed=True, count=1, losses=losses,
                         longest_gap=0.1, result=result))  # fmt: skip
        screen.mount(Static(english_told(shortest(result(None)))))

    return screen, watch


def _meters(_: Ground) -> tuple[Screen[Any], Act]:
    """Each name that a meter has where a machine tells of it, and what it reads."""
    names = (
        ("load", meters.Sort.LOAD, "processor load"), ("p", meters.Sort.POWER, "processor"),
        ("f", meters.Sort.FREQUENCY, "core 3"), ("a", meters.Sort.ADAPTER, "adapter at AC"),
        ("v", meters.Sort.VOLTS, "battery BAT0 voltage"), ("s", meters.Sort.STATUS, "battery BAT0"),
    )  # fmt: skip
    host: Any = FakeHost()
    screen = MetersScreen(host)
    channels = tuple(meters.Channel(key=key, sort=sort, name=name, source="/sys")
                     for key, sort, name in names)  # fmt: skip

    def read(_: Pilot[int], __: Any) -> None:
        screen._sampler.channels = channels
        screen._history = meters.History(channels, most=60)
        for values in ((50.0, 9.0, 900.0, 1.0, 12.0, 1.0), (None, None, None, 0.0, None, 0.0)):
            screen.take(meters.Sample(seconds=1.0, values=values))

    return screen, read


def _notice(_: Ground) -> tuple[Screen[Any], Act]:
    """What readers of files and the worker say went wrong."""
    path = Path("/srv/shop")
    said = [str(explain(OSError(number, "K-9"), path)) for number in (0, *ADVISED)]
    said += [str(drive_test.NotPossible("only root may ask a drive to test itself (run as root)"))]
    screen = looking._screen(Notice(text("where.reading", check="K-9", run="K-9"), tuple(said)))
    return screen, _nothing


def _nothing(_: Pilot[int], __: Any) -> None:
    pass


SCREENS: Final[dict[str, Callable[[Ground], tuple[Screen[Any], Act]]]] = {
    "start": _start, "intake": _intake, "options": _options, "resume": _resume,
    "running": _running, "verdict": _verdict, "step": _step, "help": _help,
    "unsaved": _unsaved, "evidence": _evidence, "reading": _reading, "tree": _tree,
    "cases": _cases, "big": _big, "worksheet": _worksheet, "parts": _parts,
    "guided": _guided, "self-test": _self_test, "flex": _flex, "meters": _meters,
    "notice": _notice,
}  # fmt: skip


def other_words() -> dict[str, str]:
    """Words that stand in English in another place than the catalogue, by their keys in one."""
    return {
        **dict(worded.table_words(knowledge.load())),
        **dict(worded_forms.sheet_words(knowledge.worksheet())),
        **dict(worded_forms.guide_words(knowledge.guided())),
        **dict(part_words()),
        **{f"guide-answer.{worded.slug(title)}": title for title in _answers()},
        **{f"probe.{probe.name}": probe.title for probe in registry.ALL},
    }


def with_pseudo(patch: pytest.MonkeyPatch, *more: ModuleType) -> None:
    """The pseudo-language in place of a real one. ``more``: modules with a name for catalogues."""
    real = wording.catalogue
    made = customers_part.pseudo({**real(), **other_words()})

    def catalogue(language: str = "en") -> Mapping[str, str]:
        return made if language == customers_part.PSEUDO else real(language)

    for module in (wording, worded, found_words, signing, *more):
        patch.setattr(module, "catalogue", catalogue)
    found = {english: english for english in found_words.found_in("de")}
    patch.setattr(found_words, "found_in", lambda _: customers_part.pseudo(found))
    patch.setattr(languages, "LANGUAGES", (*languages.LANGUAGES, customers_part.PSEUDO))


def _answers() -> Iterator[str]:
    """What the choices of guided checks are called in their code."""
    for file in sorted(Path(guided.__file__).parent.glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Choice":
                told = {one.arg: one.value for one in node.keywords}.get("title")
                if isinstance(told, ast.Constant):
                    yield str(told.value)


def judged(folder: Path, number: int = -1) -> Ground:
    """A case on a shop drive, the last one, read and judged in the language that is spoken."""
    entry = Shop(folder).entries()[number]
    case = case_files.open_case(Path(entry.path))
    assert isinstance(case, JudgedCase), case
    return Ground(case, folder)


async def shown_on(name: str, ground: Ground, pilot: Pilot[int]) -> BenchScreen[Any]:
    """Bring a screen in front, with what there is to see on it."""
    screen, act = SCREENS[name](ground)
    await pilot.app.push_screen(screen)
    await pilot.pause()
    act(pilot, screen)
    await pilot.pause(0.1)
    front = pilot.app.screen
    assert isinstance(front, BenchScreen)
    return front


def read_on(screen: BenchScreen[Any]) -> Iterator[str]:
    """All that is written on a screen, scrolled away or not."""
    for widget in screen.query("*"):
        if not widget.display:
            continue
        if isinstance(widget, Static):
            yield str(widget.content)
        elif isinstance(widget, TextList):
            yield from (str(option.prompt) for option in widget.options)
        elif isinstance(widget, Input):
            yield widget.placeholder
        elif isinstance(widget, KeyLine):
            yield from widget.entries
        elif isinstance(widget, TitleLine):
            yield str(widget.render()).partition(": ")[2]


def own_words(case: JudgedCase) -> list[str]:
    """What checks and components are called in a record."""
    readings = [reading for run in case.loaded.runs for reading in run.readings]
    said = [one.check for one in readings]
    seen = [run.inventory for run in case.loaded.runs]
    said += [one.id for run in seen for one in run.controllers]
    said += [one.id for run in seen for one in run.places]
    said += [one.id for run in seen for one in run.parts]
    return said


def stray(said: Sequence[str], ground: Ground) -> list[str]:
    """Words outside the brackets of the pseudo-language that are no name and no record's own."""
    told = " ".join(" ".join(said).split())
    cases = [Path(entry.path).name for entry in Shop(ground.shop).entries()]
    case = ground.case
    known = [*NAMES, *DEVICES, *cases, *own_words(case), str(ground.shop), case.report,
             case.loaded.case.id]  # fmt: skip
    for words in sorted(filter(None, known), key=len, reverse=True):
        for form in (words, words.rstrip("."), words[:1].lower() + words[1:].rstrip(".")):
            told = told.replace(form, " ")
    facts = ground.case.tables.shop
    runs = [
        run for one in Shop(ground.shop).entries() for run in CaseFolder(Path(one.path)).load().runs
    ]
    names = customers_part.makers_names(runs, facts, *PRINTED)
    found = customers_part.outside(told, names)
    return [word for word in found if len(word) > 1 and not _FUNCTION_KEY.fullmatch(word)]
