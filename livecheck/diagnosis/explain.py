"""The verdict in sentences a technician would say, each traceable to readings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from livecheck.diagnosis import patterns
from livecheck.diagnosis.observations import Observation
from livecheck.diagnosis.patterns import PatternSeen
from livecheck.diagnosis.verdict import RepairGroup, Verdict
from livecheck.diagnosis.weighing import leading, pointed_at, weighed
from livecheck.records import Evidence, Knowledge, Outcome, Record, Side, whole_percent
from livecheck.records.tables import LOCKED
from livecheck.topology.graph import Graph
from livecheck.topology.ids import HUNG, MAINBOARD, SETTING, ComponentId

SECOND: Final = 0.2
"""A further fault less likely than this is not spoken of."""
_UNTESTED: Final = 6
_SAYS: Final = 0.1
"""A reading that weighs less is not told."""
_MUCH: Final = 1.0
"""An answer to another question has to weigh so much (natural log; Kass and Raftery, 1995,
3.2: less is worth no more than a bare mention)."""
_SPOKEN: Final = 3
"""Readings told in full, for and against each."""
_FREE: Final = {HUNG: "named.hung-controller", SETTING: "named.setting"}
"""Units that nothing is ordered for, and that no contact is."""
_STARTS: Final = {
    (patterns.FOLLOWS, Side.DEVICE): "follows",
    (patterns.STAYS, Side.CONTROLLER): "stays",
    (patterns.COMMON, Side.CONTROLLER): "common",
}


class Explanation(Record, frozen=True, kw_only=True):
    """The words and the evidence behind them."""

    sentence: str
    explanation: tuple[str, ...]
    evidence: tuple[Evidence, ...]


def explain(
    graph: Graph,
    judged: Verdict,
    found: Sequence[Observation],
    knowledge: Knowledge,
    pattern: PatternSeen,
) -> Explanation:
    """Sentence, further sentences and evidence of a verdict."""
    about = judged.group or leading(judged, found)
    evidence = weighed(about, found, knowledge.model)
    words = _Words(graph, judged, knowledge, pattern)
    failed = [one for one in found if one.failed]
    explanation = words.swaps()
    if about is not None:
        explanation += words.for_and_against(evidence, about)
        explanation += words.what_lacks(about)
    explanation += words.also(about, failed)
    explanation += words.way_on()
    return Explanation(
        sentence=words.sentence(about, failed),
        explanation=tuple(explanation),
        evidence=evidence,
    )


def locked(graph: Graph) -> ComponentId | None:
    """The drive that refused access when it was last asked, as nobody has told its password."""
    now = graph.home[-1] if graph.home else None
    failed = (one for one in now.run.readings if one.check == LOCKED) if now is not None else ()
    at = next((one.at for one in failed if one.outcome is Outcome.FAILED), None)
    return now.part_at(at) if now is not None and at is not None else None


def percent(probability: float, knowledge: Knowledge) -> str:
    """A probability as whole per cent, never a bare 0 or 100."""
    key, number = whole_percent(probability)
    return knowledge.say(f"percent.{key}", percent=number)


_WORTH_NAMING: Final = 0.1
"""Assumed: what failed and points at something this likely is told to."""


class _Words:
    """What is said of one verdict."""

    def __init__(
        self, graph: Graph, judged: Verdict, knowledge: Knowledge, pattern: PatternSeen
    ) -> None:
        self._graph = graph
        self._judged = judged
        self._say = knowledge.say
        self._knowledge = knowledge
        self._pattern = pattern
        self._locked = locked(graph)

    def _name(self, group: RepairGroup) -> str:
        return self._graph.components[group.lead].name

    def _percent(self, probability: float) -> str:
        return percent(probability, self._knowledge)

    def sentence(self, about: RepairGroup | None, failed: Sequence[Observation]) -> str:
        """The verdict; ``about``: the group it is about, or that leads while it is open."""
        judged, share = self._judged, self._percent(self._judged.probability)
        if judged.misfit:
            return self._say("verdict.misfit")
        if judged.side is Side.NO_FAULT:
            return self._say("verdict.no-fault", share=share)
        if judged.side is Side.SOFTWARE:
            return self._say("verdict.software", share=share)
        if self._locked is not None and (about is None or about.side is Side.SOFTWARE):
            return self._say("verdict.locked", name=self._graph.name(self._locked))
        if judged.group is not None:
            return self._named(judged.group, share)
        if self._pattern.name == patterns.VANISHES:
            return self._say("verdict.vanishes")
        return self._open(about, failed) if about is not None else self._say("verdict.nothing-read")

    def _open(self, about: RepairGroup, failed: Sequence[Observation]) -> str:
        sound, groups = self._judged.sides[Side.NO_FAULT], self._judged.groups
        if not failed and sound > about.probability:
            return self._say("open.no-fault", share=self._percent(sound))
        system = next((g.probability for g in groups if g.side is Side.SOFTWARE), 0.0)
        leads = about.side is Side.SOFTWARE or (failed and system > about.probability)
        if leads or about.probability < 0.05:
            return self._pointed_at(failed)
        whole = len(about.members) == 1 or about.unit != MAINBOARD
        name = (
            self._name(about)
            if whole
            else self._say("open.somewhere", unit=self._title(about.unit))
        )
        how = "failed" if failed else "passed" if about.touched else "untold"
        if failed and any(g.relevant and g.probability > about.probability for g in groups):
            how = "of-tested"
        return self._say(f"open.{how}", name=name, share=self._percent(about.probability))

    def _pointed_at(self, failed: Sequence[Observation]) -> str:
        """Where no part leads: what the failures point at the most, if at anything."""
        blamed = pointed_at(one for one in failed if not one.beside)
        for group in self._judged.groups:
            meant = group.relevant and group.side is not Side.SOFTWARE and blamed & {*group.members}
            if meant and group.probability >= _WORTH_NAMING:
                name, share = self._name(group), self._percent(group.probability)
                return self._say("open.points", name=name, share=share)
        return self._say("open.nothing-points")

    def _named(self, group: RepairGroup, share: str) -> str:
        lead, side = self._graph.components[group.lead], self._judged.side
        told = {"name": lead.name, "share": share}
        if group.gone > 0.5:
            return self._say("named.cured", **told)
        if side is Side.UNDETERMINED:
            return self._say(_FREE.get(group.unit, "named.contact"), **told)
        shown = (self._pattern.name or "", side)
        start = self._say(f"start.{_STARTS[shown]}") if shown in _STARTS else ""
        if side is Side.CONTROLLER and group.unit != lead.kind:
            return start + self._say("named.on-unit", unit=self._title(group.unit), **told)
        now = (self._graph.home or self._graph.configurations)[-1]
        out = side is Side.DEVICE and lead.id not in now.parts.values()
        return start + self._say("named.part-out" if out else "named.part", **told)

    def swaps(self) -> list[str]:
        """What failed and what passed where, as one would tell it across the bench."""
        if self._pattern.name is None:
            return []
        words = [
            self._say(
                "swap.failed" if failed else "swap.passed",
                part=self._graph.name(part),
                place=self._graph.name(place),
            )
            for part, place, failed, _ in dict.fromkeys(self._pattern.trials)
        ]
        pattern = self._say(f"pattern.{self._pattern.name.replace(' ', '-')}")
        told = self._say("swap.told", trials="; ".join(words), pattern=pattern)
        return [told[:1].upper() + told[1:]]

    def for_and_against(self, evidence: Sequence[Evidence], about: RepairGroup) -> Iterator[str]:
        """The readings that weigh most, on each side.

        Against it only what bears on it: another answer to a question that speaks for it, or
        one where that was asked. A battery that answers says nothing of a drive's port.
        """
        speaks = [one for one in evidence if one.weight > _SAYS]
        checks, asked = {one.check for one in speaks}, {one.at for one in speaks}
        against = [
            one
            for one in evidence
            if one.weight < -_SAYS
            and (one.check in checks or not speaks or (one.at in asked and one.weight <= -_MUCH))
        ]
        # What passes once a fault was cured does not speak against its having been there.
        against = [] if about.gone > 0.5 else against
        for key, told in (("weighed.for", speaks), ("weighed.against", against)):
            spoken: dict[str, list[int]] = {}
            for one in told:
                spoken.setdefault(one.says.rstrip("."), []).append(one.run)
            words = [
                self._say("weighed.reading", says=says, runs=self._runs(runs))
                for says, runs in list(spoken.items())[:_SPOKEN]
            ]
            if words:
                yield self._say(key, name=self._name(about), readings="; ".join(words))

    def _runs(self, numbers: Sequence[int]) -> str:
        unique = sorted(set(numbers))
        if len(unique) == 1:
            return self._say("runs.one", last=unique[0])
        return self._say("runs.other", runs=", ".join(map(str, unique[:-1])), last=unique[-1])

    def what_lacks(self, about: RepairGroup) -> Iterator[str]:
        """Why nothing is named yet."""
        judged = self._judged
        if judged.side is not Side.UNDETERMINED or judged.group is not None or self._locked:
            return
        if about.side is Side.CONTROLLER and about.probability >= 0.5:
            yield self._board_lacks(about)
            return
        untouched = [
            self._name(group)
            for group in judged.groups[:6]
            if not group.touched and group.probability >= 0.02 and group.side is Side.DEVICE
        ]
        if untouched:
            yield self._say("lacks.untested", names=", ".join(untouched))
        if judged.sides.get(Side.SOFTWARE.value, 0.0) >= 0.2:
            yield self._say("lacks.software")

    def _title(self, unit: str) -> str:
        kind = self._knowledge.kinds.get(unit)
        return kind.title if kind is not None else unit

    def _board_lacks(self, about: RepairGroup) -> str:
        name, unit = self._name(about), self._title(about.unit)
        told = self._say(
            "lacks.board",
            unit=name if unit in name else f"{unit} ({name})",
            needed=self._percent(self._knowledge.model.board_verdict.value),
            share=self._percent(about.probability),
        )
        return told if about.proven else f"{told} {self._say('lacks.proof')}"

    def way_on(self) -> Iterator[str]:
        """With no part at fault: what was not tested, and what is left to do."""
        if self._judged.side in (Side.NO_FAULT, Side.SOFTWARE):
            groups = [g for g in self._judged.groups if g.relevant and not g.touched]
            names = [self._name(group) for group in groups[:_UNTESTED]]
            names = names or [self._say("verdict.long-use")]
            yield self._say("verdict.no-fault-further", names=", ".join(names))

    def also(self, about: RepairGroup | None, failed: Sequence[Observation]) -> Iterator[str]:
        """Further faults beside the main one, and findings, each with what failed there."""
        for group in self._judged.groups:
            if group is about or group.side is Side.SOFTWARE:
                continue
            # Of a board, whose parts share one order: what accuses the likeliest of them.
            at_group = [one for one in failed if group.lead in dict(one.members)]
            own = [one for one in at_group if about is None or not _accuses(one, about)]
            fact = group.side is Side.DEVICE and any(one.finding for one in own)
            if own and (group.probability >= SECOND or fact):
                yield self._say(
                    "also",
                    name=self._name(group),
                    share=self._percent(group.probability),
                    says=own[0].reading.says.rstrip(".") or own[0].reading.check,
                    runs=self._runs([one.run for one in own]),
                )


def _accuses(one: Observation, group: RepairGroup) -> bool:
    return any(number in group.members for number, _ in one.members)
