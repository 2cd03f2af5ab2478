"""Wrong pictures: panel, lead, backlight and graphics are told apart, a sound machine is left."""

from __future__ import annotations

import importlib
from collections.abc import Iterator

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis import locate
from livecheck.guided import Answered, GuideOffer, offered, open_guide
from livecheck.guided.events import Acted
from livecheck.guided.screen_watch import ScreenLinks
from livecheck.guided.steps import DONE
from livecheck.host import Host
from livecheck.plan import Plan
from livecheck.probes import Context, registry
from livecheck.records import Inventory, Location, NotTested, Outcome, Reading, Run
from livecheck.records.answer_words import understood
from livecheck.run import begin
from tests.bench_stories.pictures import ALL, CONNECTOR, Look, PictureStory, Wanted
from tests.testbeds.bed import BedHost

TABLES = knowledge.load()
TABLE = knowledge.guided()


def _guided(host: Host, offer: GuideOffer, answer: str) -> tuple[Reading, ...]:
    """One guided check, every choice made by its answer."""
    guide = open_guide(offer, TABLES, TABLE)
    now, links = 0.0, ScreenLinks(host)
    step = guide.start()
    while not step.done:
        values = {choice.value for choice in step.choices}
        if step.watch and step.watch[0].kind == "screen-link":
            step = guide.feed(links.look(step.watch[0].path, now))
            now += 0.5
            host.wait(0.5)
        elif step.act is not None:
            step = guide.feed(Acted(number=step.act.number))
        else:
            step = guide.feed(Answered(value=answer if answer in values else DONE))
    return step.readings


def _offer(name: str, inventory: Inventory) -> GuideOffer:
    return next(o for o in offered(inventory, TABLE) if o.row.name == name)


def _passive(context: Context) -> Iterator[object]:
    for probe in registry.ALL:
        if probe.passive:
            module, _, function = probe.function.partition(":")
            yield from getattr(importlib.import_module(module), function)(context)


def play(story: PictureStory) -> list[Location]:
    """What was said after each look."""
    runs: list[Run] = []
    said = []
    for number, look in enumerate(story.looks, start=1):
        runs.append(_run(look, story, number))
        said.append(locate("bench", runs, TABLES))
    return said


def _run(look: Look, story: PictureStory, number: int) -> Run:
    host = BedHost(look.bed())
    answers = tuple(understood(about, says) for about, says in look.answers)
    plan = Plan(complaint=story.complaint, answers=answers, reseated=look.reseated)
    begun, _ = begin(host, plan)
    context = Context(host=host, inventory=begun.inventory, events=begun.events, knowledge=TABLES)
    readings: list[Reading] = []
    for name, answer in look.guided.items():
        readings += _guided(host, _offer(name, begun.inventory), answer)
    for check, (at, passed) in look.loaded.items():
        outcome = Outcome.PASSED if passed else Outcome.FAILED
        readings.append(Reading(check=check, at=at, outcome=outcome, source="under load"))
    yielded = list(_passive(context))
    return msgspec.structs.replace(
        begun,
        number=number,
        readings=(*begun.readings, *readings, *(y for y in yielded if isinstance(y, Reading))),
        not_tested=(*begun.not_tested, *(y for y in yielded if isinstance(y, NotTested))),
        finished=True,
    )


def shares(found: Location) -> dict[str, float]:
    """Probability of all candidates of a kind together."""
    kinds: dict[str, float] = {}
    for one in found.candidates:
        kinds[one.kind] = kinds.get(one.kind, 0.0) + one.probability
    return kinds


def wrong(found: Location, wanted: Wanted) -> list[str]:
    """What a technician would not accept of a verdict."""
    kinds = shares(found)
    said = []
    if wanted.among and found.candidates[0].kind not in wanted.among:
        said.append(f"{found.candidates[0].kind} is the likeliest")
    has = {kind: kinds.get(kind, 0.0) for kind in (*wanted.below, *wanted.above)}
    said += [f"{kind} {has[kind]:.2f}" for kind, most in wanted.below.items() if has[kind] > most]
    said += [f"{kind} {has[kind]:.2f}" for kind, least in wanted.above.items() if has[kind] < least]
    step = found.next_step
    if wanted.steps:
        about = next((c.kind for c in found.candidates if step and c.component == step.target), "")
        called = f"{step.action} {about}" if step else ""
        if not called.startswith(wanted.steps):
            said.append(f"next step: {called} {step.target if step else ''}")
    return said


@pytest.mark.parametrize("story", ALL, ids=lambda story: story.name)
def test_a_picture_story(story: PictureStory) -> None:
    said = play(story)
    assert [wrong(found, look.wanted) for found, look in zip(said, story.looks, strict=True)] == [
        [] for _ in said
    ]
    for found in said:
        lead = found.candidates[0] if found.candidates else None
        if lead is not None and lead.probability > 0.9:
            assert lead.kind in story.truth.split(), found.sentence


def test_the_connector_of_the_stories_is_the_machines() -> None:
    (story, *_) = ALL
    assert CONNECTOR in {p.id for p in _run(story.looks[0], story, 1).inventory.places}


def test_a_look_by_eye_needs_no_meter() -> None:
    """The first step for a wrong picture is a look, and its caution is not that of a meter."""
    step = play(ALL[0])[0].next_step
    assert step is not None and step.action == "external measurement"
    assert step.why.startswith("A look") and "meter" not in step.cautions
