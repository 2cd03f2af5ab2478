"""One run from start to saved report: what console and command line both call.

The record is saved unfinished before the first probe, again when the passive
probes are done, and whole at the end, so that a power cut leaves what was known.
"""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import msgspec

from livecheck import __version__, knowledge, report
from livecheck.capture import RecordingHost
from livecheck.casefile import CaseFolder, Loaded, Shop, ShopError
from livecheck.casefile.presence import Guard
from livecheck.casefile.shop import explain, mounts
from livecheck.diagnosis import locate, worksheet
from livecheck.host import Host, KernelMessage, LiveHost
from livecheck.probes import registry
from livecheck.probes.control import NONE, Control
from livecheck.recorder.run import Recording
from livecheck.records import (
    Case,
    DamagedRecord,
    Knowledge,
    Location,
    NotJudged,
    NotTested,
    Reading,
    Run,
    decode,
    encode,
)
from livecheck.records.answer_words import placed
from livecheck.shelf.outcomes import read_outcomes
from livecheck.shelf.priors import learn
from livecheck.shelf.settings import BrokenSettings, read_settings
from livecheck.shelf.summary import summarize
from livecheck.taking import (
    FULL as FULL,
)
from livecheck.taking import (
    QUICK as QUICK,
)
from livecheck.taking import (
    OnEvent as OnEvent,
)
from livecheck.taking import (
    OnPart as OnPart,
)
from livecheck.taking import (
    Plan as Plan,
)
from livecheck.taking import (
    begin as begin,
)
from livecheck.taking import (
    chosen as chosen,
)
from livecheck.taking import (
    probe as probe,
)
from livecheck.taking import with_stick

"""The shop's own figures, at the top of the shop drive."""


class Saved(msgspec.Struct, frozen=True):
    """A run, its case so far, and where both stand."""

    run: Run
    loaded: Loaded
    location: Location
    case_folder: str
    run_file: str
    report_file: str


class Unsaved(ShopError):
    """The drive refused the record; ``run`` holds what would have been saved."""

    def __init__(self, message: str, run: Run) -> None:
        super().__init__(message)
        self.run = run


def take_run(host: Host, plan: Plan, judge_by: Knowledge) -> Run:
    """A whole run without saving it (replays, captures, tests)."""
    run, _ = begin(host, plan)
    return probe(host, run, plan, judge_by)


def run_and_save(
    host: Host,
    plan: Plan,
    judge_by: Knowledge,
    shop: Shop,
    on_event: OnEvent = lambda event: None,
    stopped: Callable[[], bool] = lambda: False,
    wishes: Control = NONE,
) -> Saved:
    """One run, saved into its case, with the report written again.

    Raises ShopError when nothing can be saved there, and Unsaved, which holds
    the run, when the drive refused half-way.
    """
    shop.ensure_writable()
    drive = Guard(LiveHost(), shop.cases_folder)
    recording = Recording(host, shop.cases_folder)
    try:
        run, messages = begin(host, plan)
        if isinstance(host, LiveHost):
            run = msgspec.structs.replace(run, inventory=with_stick(run.inventory, mounts(host)))
        try:
            folder, run = _claim(shop, run, plan)
            run = recording.judged(run, judge_by, folder)
            folder.save_run(run, _raw_log(messages))
            recording.saved(folder.run_file(run.number).parent)
            on_event = recording.heard(on_event)
            run = probe(
                host, run, plan, judge_by, on_event, _save_part(folder, drive), stopped, wishes
            )
            run = recording.ended(run)
            drive.check()
            return _save(folder, run, judge_by)
        except OSError as error:
            raise Unsaved(str(explain(error, shop.cases_folder)), run) from error
    finally:
        recording.abandon()


def save_worksheet(
    filled: worksheet.Filled, plan: Plan, judge_by: Knowledge, shop: Shop, host: Host
) -> Saved:
    """A run made of bench measurements, for a machine that cannot be started.

    ``host`` is the shop's own computer; only its clock is asked. Raises as
    ``run_and_save`` does.
    """
    shop.ensure_writable()
    sheet, machine = knowledge.worksheet(), worksheet.machine()
    left_out = tuple(
        NotTested(what=step.title, why="left open on the worksheet")
        for step in worksheet.steps(plan.complaint, sheet)
        if step.name not in filled.answers
    )
    run = Run(
        number=0,
        started=host.scope("session").facts().now,
        complaint=plan.complaint,
        inventory=machine,
        readings=worksheet.judge(filled.answers, filled.label, sheet),
        not_tested=(*left_out, NotTested(what="Every probe", why="the machine does not start")),
        answers=tuple(placed(answer, machine) for answer in plan.answers),
        known_good=plan.known_good,
        reseated=plan.reseated,
        program=__version__,
    )
    try:
        folder, run = _claim(shop, run, plan)
        return _save(folder, run, judge_by)
    except OSError as error:
        raise Unsaved(str(explain(error, shop.cases_folder)), run) from error


def save_asked(
    host: Host, plan: Plan, readings: tuple[Reading, ...], judge_by: Knowledge, shop: Shop
) -> Saved:
    """A run of this machine that holds only what was asked for by name, such as a self-test.

    Raises as ``run_and_save`` does.
    """
    shop.ensure_writable()
    begun, messages = begin(host, plan)
    run = msgspec.structs.replace(
        begun,
        readings=(*begun.readings, *readings),
        not_tested=(*begun.not_tested, NotTested(what="Every probe", why="not asked for")),
        finished=True,
    )
    try:
        folder, run = _claim(shop, run, plan)
        folder.save_run(run, _raw_log(messages))
        return _save(folder, run, judge_by)
    except OSError as error:
        raise Unsaved(str(explain(error, shop.cases_folder)), run) from error


def save_again(run: Run, plan: Plan, judge_by: Knowledge, shop: Shop) -> Saved:
    """Save a run that a drive refused before: in its own place, else as the next of its case.

    Raises as ``run_and_save`` does.
    """
    shop.ensure_writable()
    try:
        folder = _folder(shop, run, plan)
        if not _is_place_of(folder, run):
            run = msgspec.structs.replace(run, number=folder.claim_run())
        return _save(folder, run, judge_by)
    except OSError as error:
        raise Unsaved(str(explain(error, shop.cases_folder)), run) from error


def _is_place_of(folder: CaseFolder, run: Run) -> bool:
    """Whether an earlier, unfinished state of this very run stands under its number."""
    try:
        saved = decode(folder.run_file(run.number).read_bytes(), Run)
    except (OSError, DamagedRecord):
        return False
    return saved.started == run.started and not saved.finished


def _raw_log(messages: Sequence[KernelMessage]) -> str:
    return "".join(f"[{m.seconds:12.6f}] {m.text}\n" for m in messages)


def _folder(shop: Shop, run: Run, plan: Plan) -> CaseFolder:
    return (
        shop.named(plan.case)
        or shop.find(run.inventory, plan.ticket, run.complaint)
        or shop.open_case(run.inventory, plan.ticket, run.complaint, run.started)
    )


def _claim(shop: Shop, run: Run, plan: Plan) -> tuple[CaseFolder, Run]:
    folder = _folder(shop, run, plan)
    note(folder, plan.known_good, plan.cannot, plan.can)
    return folder, msgspec.structs.replace(run, number=folder.claim_run())


def note(
    folder: CaseFolder,
    spares: Sequence[str] = (),
    cannot: Sequence[str] = (),
    can: Sequence[str] = (),
) -> None:
    """Keep in the case which parts the shop vouches for, and what this bench cannot do.

    Raises OSError and DamagedRecord.
    """

    def told(case: Case) -> Case:
        ruled_out = (one for one in (*case.cannot, *cannot) if one not in can)
        return msgspec.structs.replace(
            case,
            spares=tuple(dict.fromkeys((*case.spares, *spares))),
            cannot=tuple(dict.fromkeys(ruled_out)),
        )

    if spares or cannot or can:
        folder.change_case(told)


def _save(folder: CaseFolder, run: Run, judge_by: Knowledge) -> Saved:
    run_file = folder.save_run(run)
    loaded = folder.load()
    location = locate_case(loaded, judge_by)
    report_file = folder.save_report(_render(loaded, location, judge_by))
    folder.save_summary(summarize(location, loaded.runs, folder.run_numbers()))
    return Saved(
        run=run,
        loaded=loaded,
        location=location,
        case_folder=str(folder.path),
        run_file=str(run_file),
        report_file=str(report_file),
    )


def locate_case(loaded: Loaded, judge_by: Knowledge) -> Location:
    """The fault location from a case's saved runs. Raises NotJudged, whatever went wrong."""
    case = loaded.case
    try:
        return locate(case.id, loaded.runs, judge_by, spares=case.spares, cannot=case.cannot)
    except Exception as error:
        raise NotJudged(case.id, error) from error


def write_report(folder: CaseFolder, judge_by: Knowledge, to: Path | None = None) -> Path:
    """Write a case's report again. Raises OSError and DamagedRecord."""
    loaded = folder.load()
    location = locate_case(loaded, judge_by)
    html = _render(loaded, location, judge_by)
    if to is None:
        folder.save_summary(summarize(location, loaded.runs, folder.run_numbers()))
        return folder.save_report(html)
    to.write_text(html, encoding="utf-8")
    return to


def record(host: Host, judge_by: Knowledge) -> RecordingHost:
    """Everything the inventory and the passive probes read, ready to be written out."""
    recording = RecordingHost(host)
    plan = Plan(probes=tuple(p.name for p in registry.ALL if p.passive))
    take_run(recording, plan, judge_by)
    return recording


def tables(root: Path, besides: str | None = None) -> tuple[Knowledge, str | None]:
    """Built-in tables, the shop's own over them, moved by what its repairs proved.

    ``besides``: id of a case whose own outcomes are left out. Also returns what was wrong
    with anything of the shop's; the tables do without that then.
    """
    found, troubles = knowledge.load(), []
    for own in (root / name for name in knowledge.SHOP_TABLES):
        if own.is_file():
            try:
                found = knowledge.with_shop_file(found, own)
            except (knowledge.BrokenTable, OSError, UnicodeDecodeError) as error:
                troubles.append(f"{error}. The built-in table is used.")
    try:
        if read_settings(root).priors.outcomes:
            outcomes, damaged = read_outcomes(Shop(root).cases_folder)
            found = learn(found, outcomes, besides)
            troubles += [f"{sentence}. It is left out." for sentence in damaged]
    except BrokenSettings as error:
        troubles.append(f"{error}. Confirmed outcomes are left out.")
    return found, " ".join(troubles) or None


def keep_elsewhere(run: Run) -> Path:
    """Save a run the shop drive refused into the system's temporary folder."""
    with tempfile.NamedTemporaryFile(prefix="livecheck-run-", suffix=".json", delete=False) as kept:
        kept.write(encode(run))
    return Path(kept.name)


def _render(loaded: Loaded, location: Location, judge_by: Knowledge) -> str:
    try:
        return report.render(loaded.case, loaded.runs, location, judge_by, loaded.damaged)
    except OSError:
        raise
    except Exception as error:
        raise NotJudged(loaded.case.id, error) from error


def _save_part(folder: CaseFolder, drive: Guard) -> OnPart:
    def save(run: Run) -> None:
        # A drive lost half-way does not end the run: the last save is the one that tells.
        with contextlib.suppress(OSError):
            drive.check()
            folder.save_run(run)

    return save
