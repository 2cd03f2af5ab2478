"""The steps this bench could take now, each with the configuration it leads to.

Which steps there are follows from what is fitted, what failed, and which
components are still open; what cannot be done here is left out.
"""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from livecheck.diagnosis import actions, trial
from livecheck.diagnosis.components import FIRMWARE, MAINBOARD, Component, Paths, contact_id
from livecheck.diagnosis.fitting import Fitting
from livecheck.diagnosis.situation import (
    CURED_BY_CLEANING,
    CURED_BY_REFLASH,
    DEEP,
    MOST_REPEATS,
    OPEN,
    SOAK_REPEATS,
    STAYS_IN,
    WORTH_MEASURING,
    Move,
    Situation,
    inside_numbers,
    present,
    same_runs,
    tried,
)
from livecheck.diagnosis.steady import Look
from livecheck.diagnosis.trial import Site, Symptom
from livecheck.records import Check, Side


def possible(here: Situation) -> tuple[Move, ...]:
    """Every step that this bench can take and that could tell something."""
    made = [
        *_on_parts(here),
        *_put_back(here),
        *_many_parts(here),
        *_treatments(here),
        *_looks_deeper(here),
    ]
    return tuple(move for move in made if move.sites)


def _on_parts(here: Situation) -> Iterator[Move]:
    """Reseat, swap, move, remove, test elsewhere: for the fitted parts still open."""
    blamed = here.blamed()
    graph = here.bench.graph
    for place, key in sorted(here.fitted.parts.items()):
        component = here.component(key)
        record = here.record(key)
        if component is None or component.side is not Side.DEVICE:
            continue
        if record is not None and record.soldered:
            continue
        number = graph.index[component.id]
        own = (n for n in blamed if graph.components[n].part == key)
        if number in blamed or any(True for _ in own):
            yield from _on_part(here, place, key, component)


def _on_part(here: Situation, place: str, key: str, component: Component) -> Iterator[Move]:
    bench, fitted, kind = here.bench, here.fitted, component.kind
    graph = bench.graph
    about = graph.index[component.id]
    target = _shown(here, key)
    work = bench.covers([kind]) + bench.trial()
    swap = work + bench.hands(kind)
    reseat = work + bench.hands(kind, reseat=True)
    done = tried(here, key, place)
    if here.fails_now and not done.reseats and bench.allows(actions.RESEAT, kind, place):
        sites = here.looks(trial.changed(fitted, {place: key}))
        contact = contact_id(fitted, place, key)
        yield Move(
            action=actions.RESEAT,
            target=place,
            minutes=reseat,
            sites=sites,
            about=about,
            cures=graph.index.get(contact),
        )
    if here.fails_now and done.spares < 2 and bench.allows(actions.SWAP, kind, target):
        sites = here.looks(trial.changed(fitted, {place: "known-good:"}))
        yield Move(
            action=actions.SWAP,
            target=target,
            to=place,
            minutes=swap,
            sites=sites,
            swaps=True,
            about=about,
        )
    if bench.allows(actions.MOVE, kind, target):
        yield from _moves(here, place, key, component, reseat)
    if kind not in STAYS_IN and here.fails_now and bench.allows(actions.REMOVE, kind, target):
        modules = [k for k in fitted.parts.values() if (c := here.component(k)) and c.kind == kind]
        if kind != "memory-module" or len(modules) > 1:
            sites = here.looks(trial.changed(fitted, {place: None}))
            minutes = work + bench.hands(kind) / 2
            yield Move(
                action=actions.REMOVE, target=target, minutes=minutes, sites=sites, about=about
            )
    if not done.elsewhere and bench.allows(actions.ELSEWHERE, kind, target):
        yield _elsewhere(here, component, target, 2 * bench.hands(kind) + work)


def _moves(
    here: Situation, place: str, key: str, component: Component, minutes: float
) -> Iterator[Move]:
    """To every other place of the same kind; a part of the same kind there changes over."""
    fitted = here.fitted
    places = {one.id: one for one in fitted.run.inventory.places}
    own = places.get(place)
    if own is None or place not in {symptom.at for symptom in here.symptoms}:
        return
    for other in places.values():
        if other.kind != own.kind or other.id == place or other.external != own.external:
            continue
        there = fitted.parts.get(other.id)
        held = here.component(there) if there is not None else None
        if there is not None and (held is None or held.kind != component.kind):
            continue
        after = trial.changed(fitted, {place: there, other.id: key})
        looked = [Symptom(at=other.id, checks=_checks_at(here, place))]
        if there is not None:
            looked.append(Symptom(at=place, checks=_checks_at(here, place)))
        bench = here.bench
        yield Move(
            action=actions.MOVE,
            target=_shown(here, key),
            to=other.id,
            parts=(there,) if there is not None else (),
            minutes=minutes,
            sites=trial.sites(looked, after, bench.graph, bench.knowledge, here.belief.model),
            swaps=there is not None,
            about=bench.graph.index[component.id],
        )


def _checks_at(here: Situation, place: str) -> tuple[str, ...]:
    return next(symptom.checks for symptom in here.symptoms if symptom.at == place)


def _elsewhere(here: Situation, component: Component, target: str, minutes: float) -> Move:
    number = here.bench.graph.index[component.id]
    sites = []
    for one in here.looks(here.fitted):
        if number in one.misses:
            alone = {number: one.misses[number]}
            sites.append(msgspec.structs.replace(one, misses=alone))
    return Move(
        action=actions.ELSEWHERE,
        target=target,
        minutes=minutes,
        sites=tuple(sites[:1]),
        swaps=True,
        about=number,
    )


def absent(here: Situation) -> dict[str, str]:
    """Parts that were fitted before and are out now -> place they came from."""
    out: dict[str, str] = {}
    inside = set(here.fitted.parts.values())
    for fitted in here.bench.graph.fittings:
        if fitted.run.elsewhere or fitted.board != here.fitted.board:
            continue
        for place, key in fitted.parts.items():
            if key not in inside and key not in fitted.vouched:
                out[key] = place
    return out


def _put_back(here: Situation) -> Iterator[Move]:
    """A part that is out goes back where it was, to see whether the fault comes back."""
    bench = here.bench
    for key, place in sorted(absent(here).items()):
        component = here.component(key)
        if component is None or not bench.allows(actions.PUT_BACK, component.kind, key):
            continue
        done = tried(here, key, place)
        if done.stints > 2:
            continue
        there = here.fitted.parts.get(place)
        after = trial.changed(here.fitted, {place: key})
        minutes = bench.covers([component.kind]) + bench.hands(component.kind) + bench.trial()
        yield Move(
            action=actions.PUT_BACK,
            target=key,
            to=place,
            parts=(there,) if there is not None else (),
            minutes=minutes,
            sites=here.looks(after),
            swaps=True,
            about=bench.graph.index[component.id],
        )
        if not done.elsewhere and bench.allows(actions.ELSEWHERE, component.kind, key):
            site = _alone(here, key, place)
            if site is not None:
                yield Move(
                    action=actions.ELSEWHERE,
                    target=key,
                    minutes=2 * bench.hands(component.kind) + bench.trial(),
                    sites=(site,),
                    swaps=True,
                    about=bench.graph.index[component.id],
                )


def _alone(here: Situation, key: str, place: str) -> Site | None:
    """What a part that is out would show in a known-good machine."""
    after = trial.changed(here.fitted, {place: key})
    component = here.component(key)
    number = here.bench.graph.index[component.id] if component is not None else -1
    for one in here.looks(after):
        if number in one.misses:
            alone = {number: one.misses[number]}
            return msgspec.structs.replace(one, misses=alone)
    return None


def _many_parts(here: Situation) -> Iterator[Move]:
    """The minimum configuration, and the way back from it by halves."""
    bench, fitted = here.bench, here.fitted
    out = absent(here)
    minimum = sum(place not in fitted.parts for place in out.values()) >= 2
    if here.fails_now and bench.allows(actions.MINIMUM):
        yield from _minimum(here)
    if minimum and not here.fails_now and bench.allows(actions.HALF_BACK):
        half = _half(here, out)
        after = trial.changed(fitted, {out[key]: key for key in half})
        kinds = [c.kind for key in half if (c := here.component(key)) is not None]
        yield Move(
            action=actions.HALF_BACK,
            target="machine",
            parts=tuple(half),
            minutes=bench.covers(kinds) + sum(map(bench.hands, kinds)) / 2 + bench.trial(),
            sites=here.looks(after),
        )


def _minimum(here: Situation) -> Iterator[Move]:
    bench, fitted, blamed = here.bench, here.fitted, here.blamed()
    graph = bench.graph
    leave: dict[str, str] = {}
    modules = 0
    suspects = 0
    for place, key in sorted(fitted.parts.items()):
        component = here.component(key)
        record = here.record(key)
        if component is None or component.kind in STAYS_IN or (record and record.soldered):
            continue
        if component.side is not Side.DEVICE or key in fitted.unseen:
            continue
        if component.kind == "memory-module":
            modules += 1
            if modules == 1:
                continue
        leave[place] = key
        suspects += graph.index[component.id] in blamed
    if suspects < 2:
        return
    kinds = [c.kind for key in leave.values() if (c := here.component(key)) is not None]
    yield Move(
        action=actions.MINIMUM,
        target="machine",
        parts=tuple(leave.values()),
        minutes=bench.covers(kinds) + sum(map(bench.hands, kinds)) / 2 + bench.trial(),
        sites=here.looks(trial.changed(fitted, dict.fromkeys(leave, None))),
    )


def _half(here: Situation, out: dict[str, str]) -> list[str]:
    """Parts that together hold about half of the probability: the best yes-or-no question."""
    graph, belief = here.bench.graph, here.belief
    empty = [key for key, place in out.items() if place not in here.fitted.parts]

    def chance(key: str) -> float:
        component = here.component(key)
        return belief.marginals[graph.index[component.id]] if component is not None else 0.0

    ranked = sorted(empty, key=lambda key: (-chance(key), key))
    whole = sum(chance(key) for key in ranked)
    half: list[str] = []
    held = 0.0
    for key in ranked[:-1]:
        if not half or held + chance(key) <= whole / 2:
            half.append(key)
            held += chance(key)
    return half


def _treatments(here: Situation) -> Iterator[Move]:
    """Cleaning and re-flashing: repairs that are trials at the same time."""
    bench, fitted = here.bench, here.fitted
    if not here.fails_now:
        return
    kinds = {k: c.kind for k in fitted.parts.values() if (c := here.component(k)) is not None}
    for key in (k for k, kind in kinds.items() if kind == "cooling"):
        if fitted.treated.get(key, 0) == 0 and bench.allows(actions.CLEAN, "cooling", key):
            minutes = bench.covers(["cooling"]) + bench.hands("cooling", reseat=True)
            after = trial.changed(fitted, {}, treated=key)
            yield Move(
                action=actions.CLEAN,
                target=_shown(here, key),
                minutes=minutes + bench.trial(),
                sites=_cured(here, after, CURED_BY_CLEANING),
                about=bench.graph.index.get(key),
                cures=bench.graph.index.get(key),
            )
    if fitted.treated.get(FIRMWARE, 0) == 0 and bench.allows(actions.REFLASH):
        after = trial.changed(fitted, {}, treated=FIRMWARE)
        yield Move(
            action=actions.REFLASH,
            target=FIRMWARE,
            minutes=bench.hands(FIRMWARE) + bench.trial(),
            sites=_cured(here, after, CURED_BY_REFLASH),
            about=bench.graph.index.get(FIRMWARE),
            cures=bench.graph.index.get(FIRMWARE),
        )


def _cured(here: Situation, after: Fitting, chance: float) -> tuple[Site, ...]:
    sites = []
    for now, then in zip(here.looks(here.fitted), here.looks(after), strict=True):
        if now.misses.keys() == then.misses.keys():
            continue
        sites.append(msgspec.structs.replace(then, cured=chance, untreated=now.misses))
    return tuple(sites)


def _looks_deeper(here: Situation) -> Iterator[Move]:
    """Soak, deeper probes and measurements: the same configuration, looked at harder."""
    bench = here.bench
    if bench.allows(actions.SOAK) and same_runs(here) <= MOST_REPEATS:
        yield Move(
            action=actions.SOAK,
            target="machine",
            minutes=bench.knowledge.bench.actions.soak.minutes,
            sites=here.looks(here.fitted, SOAK_REPEATS) or _everything(here, SOAK_REPEATS),
        )
    yield from _deeper(here)
    graph, marginals = bench.graph, here.belief.marginals
    ranked = sorted(range(len(graph.components)), key=lambda number: -marginals[number])
    for number in ranked[:12]:
        component = graph.components[number]
        if marginals[number] < OPEN or component.side in (Side.SOFTWARE, Side.UNDETERMINED):
            continue
        yield from _measured(here, number, component)


def _everything(here: Situation, repeats: int) -> tuple[Site, ...]:
    """One site for all that the last run judged, where nothing ever failed."""
    looks: dict[int, list[Look]] = {}
    for one in here.found:
        if one.run == here.fitted.run.number:
            name = one.reading.check
            for number, detect in one.members:
                looks.setdefault(number, []).append((name, one.kin or name, detect))
    if not looks:
        return ()
    model = here.belief.model
    misses = {number: model.quiet(number, some, repeats) for number, some in looks.items()}
    return (Site(at="machine", misses=misses, false_alarm=1.0 - 0.99**repeats),)


def _deeper(here: Situation) -> Iterator[Move]:
    """The full tests of everything that has some, once in a configuration."""
    bench, graph, marginals = here.bench, here.bench.graph, here.belief.marginals
    inside = present(here)
    full = [one for one in graph.fittings if one.run.depth != "quick"]
    judged = {n for one in full for n in inside_numbers(graph, one)}
    misses = {
        number: 1.0 - DEEP[component.kind]
        for number, component in enumerate(graph.components)
        if component.kind in DEEP and component.id in inside and number not in judged
    }
    if not misses:
        return
    lead = max(misses, key=lambda number: marginals[number])
    component = graph.components[lead]
    if bench.allows(actions.DEEPER, component.kind, component.id):
        yield Move(
            action=actions.DEEPER,
            target=component.id,
            minutes=bench.knowledge.bench.actions.full_trial.minutes,
            sites=(Site(at=component.id, misses=misses, false_alarm=0.03),),
            about=lead,
        )


def _measured(here: Situation, number: int, component: Component) -> Iterator[Move]:
    bench, graph = here.bench, here.bench.graph
    if not bench.allows(actions.MEASURE, component.kind, component.id):
        return
    done = {one.reading.check for one in here.found if number in dict(one.members)}
    paths = Paths(here.fitted, graph)
    at = component.place if component.place is not None else component.id
    model, complaint = here.belief.model, graph.complaint.value
    wanted: list[Check] = []
    for name, check in bench.knowledge.checks.items():
        # A dead machine's checks say nothing of one that starts.
        other = bool(check.complaints) and complaint not in check.complaints
        if name.startswith("bench.") and name not in done and not other:
            site = trial.site(at, [check], paths, graph, model)
            if site.misses.get(number, 1.0) <= 1.0 - WORTH_MEASURING:
                wanted.append(check)
    if wanted:
        kinds = [component.kind] if component.kind == MAINBOARD else []
        each = bench.knowledge.bench.actions.measurement.minutes
        yield Move(
            action=actions.MEASURE,
            target=component.id,
            minutes=len(wanted) * each + bench.covers(kinds),
            sites=(trial.site(at, wanted, paths, graph, model),),
            checks=tuple(check.name for check in wanted),
            about=number,
        )


def _shown(here: Situation, key: str) -> str:
    component = here.component(key)
    return component.id if component is not None else key
