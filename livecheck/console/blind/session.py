"""The flow of the console without its screens: what it decides is said, asked and done."""

from __future__ import annotations

import asyncio
from collections.abc import Generator
from pathlib import Path
from typing import TypeVar

import msgspec

from livecheck import knowledge
from livecheck.console import case_files, flow, steps
from livecheck.console.answers import Way
from livecheck.console.blind import looks, questions
from livecheck.console.blind.run import START_SECONDS, announced, follow
from livecheck.console.events import (
    PlacesTicked,
    Resumed,
    Surveyed,
    Task,
    TaskWanted,
    Worked,
)
from livecheck.console.judged_case import JudgedCase
from livecheck.console.link import WorkerLink
from livecheck.console.replies import Known, Looked, Proposed, Trouble
from livecheck.console.requests import SaveGiven, SaveKept, SurveyMachine, SwitchOff
from livecheck.console.steps import Step
from livecheck.diagnosis import worksheet, worksheet_machine
from livecheck.found_words import reworded
from livecheck.lamp_codes import Signal, of_side
from livecheck.plan import WORKSHEETS, Plan
from livecheck.records import Complaint
from livecheck.voice import sentences
from livecheck.voice.talk import Asked, Talk
from livecheck.wording import text, title

_T = TypeVar("_T")


class Session:
    """One technician who does not look at the screen."""

    def __init__(self, talk: Talk, link: WorkerLink, replayed: bool) -> None:
        self._talk, self._link, self._replayed = talk, link, replayed
        self._state = flow.State(complaint=Complaint.NO_PICTURE)
        self._proposed: Proposed | None = None
        self.to_screen = False
        """The screen is to take over."""

    async def play(self, because: str | None = None) -> None:
        """From the machine on the bench to the last question.

        ``because``: why it begins by itself, for who sees the screen after all.
        """
        if because is not None:
            says = text(f"voice.because.{because}")
            asked = Asked(says=says, otherwise=True, seconds=START_SECONDS, times=1)
            if not await self._talk.ask(asked):
                self.to_screen = True
                return
        await self._talk.say(text("voice.hello"))
        step: Step | None = _look()
        while step is not None:
            step = await self._do(step)
        await self._talk.say(text("voice.ended"))

    async def _do(self, step: Step) -> Step | None:
        """Do a step; what follows from it."""
        match step:
            case steps.Survey():
                return await self._survey(step)
            case steps.AskResume():
                return await self._resume(step)
            case steps.AskPlaces():
                ticked = await self._asked(questions.fitted(step.places))
                return flow.decide(PlacesTicked(step.plan, ticked), self._state)
            case steps.Measure():
                # What runs here has started, so it is looked at first.
                return flow.start_run(step.plan, self._state)
            case steps.StartRun():
                return await self._run(step)
            case steps.Work():
                return await self._work(step)
            case steps.OpenCase():
                return await self._verdict(Path(step.path))
            case steps.Fail():
                return await self._failed(step)
            case _:
                await self._talk.say(text("voice.at-screen"))
                return None

    async def _survey(self, step: steps.Survey) -> Step | None:
        looked, trouble, self._proposed = None, None, None
        self._talk.signal(Signal.WORKING)
        async for reply in self._link.ask(SurveyMachine(step.plan)):
            if isinstance(reply, Looked):
                looked = reply
            elif isinstance(reply, Proposed):
                self._proposed = reply
            elif isinstance(reply, Trouble):
                trouble = reply.says
        if looked is None or trouble is not None:
            return steps.Fail(trouble or text("alarm.no-answer"))
        self._state = msgspec.structs.replace(self._state, looked=looked, ticket=step.plan.ticket)
        await self._talk.say(*_stands(looked))
        if looked.known is None and step.plan.ticket is None:
            for ticket in looked.nameless:
                if await self._talk.ask(Asked(says=text("voice.is-it", ticket=ticket))):
                    return _look(ticket)
        if looked.known is None:
            await self._talk.say(text("voice.new-case", complaint=title(self._state.complaint)))
        return flow.decide(Surveyed(looked=looked, busy=False, run_wanted=True), self._state)

    async def _resume(self, step: steps.AskResume) -> Step | None:
        await self._talk.say(*_known(step.known), *_so_far(self._proposed))
        told = await self._asked(questions.since_last_run(step.looked, step.known, self._proposed))
        return flow.decide(Resumed(step.known, told, Way.RUN), self._state)

    async def _asked(self, dialogue: Generator[Asked, bool | None, _T]) -> _T:
        """What the answers to all questions of a dialogue come to."""
        try:
            question = next(dialogue)
            while True:
                question = dialogue.send(await self._talk.ask(question))
        except StopIteration as ended:
            result: _T = ended.value
            return result

    async def _run(self, step: steps.StartRun) -> Step | None:
        plan = await announced(self._talk, step.plan, self._replayed)
        looked = self._state.looked
        called = looked.called if looked is not None else {}
        begun = msgspec.structs.replace(step, plan=plan)
        reply = await follow(self._talk, self._link, begun, called)
        return flow.decide(Worked(reply, plan), self._state) if reply is not None else None

    async def _work(self, step: steps.Work) -> Step | None:
        following = None
        async for reply in self._link.ask(step.job):
            following = flow.decide(Worked(reply, step.job.plan), self._state) or following
        return following

    async def _failed(self, step: steps.Fail) -> Step | None:
        self._talk.signal(Signal.TROUBLE)
        await self._talk.say(text("voice.trouble", says=reworded(step.says)))
        if step.kept is not None and step.plan is not None:
            asked = Asked(says=text("voice.save-again"), otherwise=None)
            if await self._talk.ask(asked):
                return steps.Work(SaveKept(step.plan, step.kept))
        elif await self._talk.ask(Asked(says=text("voice.once-more"), otherwise=None)):
            return _look()
        return None

    # --- The verdict, and what can be done then

    async def _verdict(self, path: Path) -> Step | None:
        opened = await asyncio.to_thread(case_files.open_case, path)
        if isinstance(opened, str):
            return steps.Fail(opened)
        loaded, found = opened.loaded, opened.location
        self._talk.signal(of_side(found.side))
        await self._talk.say(*sentences.verdict(loaded, found, opened.tables))
        if opened.way_on:
            await self._talk.say(text("voice.at-screen"))
        number = loaded.runs[-1].number if loaded.runs else 0
        await self._talk.say(text("voice.report", number=number, case=loaded.case.id))
        return await self._go_on(opened, path)

    async def _go_on(self, case: JudgedCase, path: Path) -> Step | None:
        """Offer the ways on one after another, until one is taken or nobody is there any more."""
        while not self._talk.gone:
            for way, asked in questions.ways(case):
                answer = await self._talk.ask(asked)
                if answer is None:
                    # Nobody is at the keys: the verdict is blinked until somebody is.
                    self._talk.signal(of_side(case.location.side))
                    await self._talk.key(None)
                    break
                if answer:
                    return await self._take(way, case, path)
        return None

    async def _take(self, way: str, case: JudgedCase, path: Path) -> Step | None:
        match way:
            case "do-now":
                return flow.decide(TaskWanted(Task.DO_NOW, case), self._state)
            case "look":
                return await self._looks(case, flow.plan_of(case, self._state))
            case "run":
                return _look(case.loaded.case.ticket)
            case "cannot":
                return await self._rule_out(case, path)
            case "say-again":
                self._talk.signal(of_side(case.location.side))
                told = sentences.verdict(case.loaded, case.location, case.tables)
                await self._talk.say(*told, *sentences.reasons(case.location))
                return await self._go_on(case, path)
            case "switch-off":
                return await self._switch_off()
            case _:
                self.to_screen = True
                return None

    async def _looks(self, case: JudgedCase, plan: Plan) -> Step:
        """The worksheet's questions that a look answers, as a run of this machine."""
        seen = await self._asked(questions.looks(looks.asked(plan.complaint), case.tables))
        here, sheet = case.loaded.runs[-1].inventory, knowledge.worksheet()
        readings = worksheet_machine.placed_here(worksheet.judge(seen, None, sheet), here)
        return steps.Work(SaveGiven(msgspec.structs.replace(plan, readings=readings)))

    async def _rule_out(self, case: JudgedCase, path: Path) -> Step | None:
        step = case.next_step
        if step is None:
            return steps.OpenCase(str(path))
        trouble = await asyncio.to_thread(case_files.rule_out, path, case.rule_of(step), False)
        return steps.Fail(trouble) if trouble is not None else steps.OpenCase(str(path))

    async def _switch_off(self) -> Step | None:
        await self._talk.say(text("voice.switching-off"))
        replies = [reply async for reply in self._link.ask(SwitchOff())]
        trouble = [reply.says for reply in replies if isinstance(reply, Trouble)]
        return steps.Fail(trouble[0]) if trouble else None


def _look(ticket: str | None = None) -> steps.Survey:
    return steps.Survey(Plan(ticket=ticket, complaint=Complaint.NO_PICTURE), run_wanted=True)


def _stands(looked: Looked) -> list[str]:
    """The machine, and what stands in the way of a whole run."""
    name = looked.machine.named or looked.machine.board_named or text("voice.no-name")
    told = [text("voice.machine", name=name, parts=looked.parts)]
    told += [] if looked.as_root else [text("voice.not-root")]
    return [*told, *([] if looked.lasts else [text("voice.lost")])]


def _known(known: Known) -> list[str]:
    """The case, and what changed by itself."""
    ticket = text("voice.ticket", ticket=known.ticket) if known.ticket else known.case
    told = [text("voice.known", case=ticket, complaint=title(known.complaint), runs=known.runs)]
    told += [text("voice.cut-off")] if known.cut_off else []
    if known.complaint in WORKSHEETS and not known.same_machine:
        told.append(text("voice.measured"))
    elif not known.same_machine:
        told.append(text("voice.other-board"))
    elif known.changes:
        told += [text("voice.changed", says=change) for change in known.changes]
    elif known.runs:
        told.append(text("voice.unchanged"))
    return [*told, *map(reworded, known.damaged)]


def _so_far(proposed: Proposed | None) -> list[str]:
    if proposed is None:
        return []
    told = [text("voice.so-far", says=proposed.sentence)]
    return [*told, *([text("voice.proposed", says=proposed.step)] if proposed.step else [])]
