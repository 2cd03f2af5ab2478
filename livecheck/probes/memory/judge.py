"""From what the memory test did and found to readings. No I/O."""

from __future__ import annotations

import signal
from collections import Counter
from collections.abc import Iterator, Sequence

import msgspec

from livecheck.native.messages import LocatedWord, Snapshot
from livecheck.probes import Yield
from livecheck.probes.memory.address_map import MemoryMap
from livecheck.probes.memory.fault_pattern import FaultPattern, bit_words, read
from livecheck.probes.memory.headroom import Headroom
from livecheck.records import NotTested, Outcome, Reading

LISTED = 16
"""Wrong words written out in a reading."""

SOURCE = "march test"


class MarchResult(msgspec.Struct, kw_only=True):
    """How the test went, filled in while it runs."""

    installed: int | None
    """Bytes the firmware says are fitted."""
    before: Headroom
    last: Snapshot = Snapshot()
    found: list[LocatedWord] = []
    temperature: float | None = None
    """Hottest place when the newest wrong words were found, °C."""
    hot: bool = False
    status: int | None = None
    stopped: bool = False


def judge(result: MarchResult, modules: MemoryMap) -> Iterator[Yield]:
    """Readings of one test, from the words to the patterns; gaps as NotTested."""
    last = result.last
    if last.moved == 0:
        yield _nothing_done(result)
        return
    yield _words(result)
    yield _gap(result)
    if last.wrong_words and result.found:
        pattern = read(result.found, modules, last.most)
        if not pattern.unsure:
            yield from _clean_modules(pattern, modules)
        yield from _modules(pattern, modules)
        yield _same_bits(pattern, modules)
        yield _address_line(pattern)


def _nothing_done(result: MarchResult) -> Reading:
    why = result.last.refusal or ending(result) or "no memory could be had"
    return Reading(
        check="memory.words",
        at="machine",
        outcome=Outcome.NOT_JUDGED,
        source=SOURCE,
        why_not=f"nothing was tested: {why}",
    )


def _words(result: MarchResult) -> Reading:
    last = result.last
    wrong = last.wrong_words
    lost = result.status == -signal.SIGBUS
    judged = bool(wrong) or lost or bool(last.passes)
    outcome = Outcome.FAILED if wrong or lost else Outcome.PASSED if judged else Outcome.NOT_JUDGED
    ended = ending(result)
    extent = f"{gib(last.most)} in {len(last.passes)} whole passes"
    says = (
        f"{wrong} words came back wrong in {gib(last.most)} of memory."
        if wrong
        else "The hardware reported a word of the tested memory as lost."
        if lost
        else f"Every word of {extent} came back as written."
        if judged
        else f"No pass over {gib(last.most)} was finished; no word read so far was wrong."
    )
    temperature = result.temperature
    return Reading(
        check="memory.words",
        at="machine",
        outcome=outcome,
        value=wrong,
        unit="words",
        source=f"{SOURCE}, kernel {last.kernel}",
        says=f"{says} {ended.capitalize()}." if ended else says,
        why_not=None if judged else f"no pass was finished: {ended or 'the time was over'}",
        details=(*coverage(result), *_list(result.found, temperature), *_passes(last)),
        conditions=("under load", "hot") if result.hot else ("under load",),
        covered=covered(result),
    )


def ending(result: MarchResult) -> str | None:
    """How the test ended, when it was not by itself."""
    if result.stopped:
        return f"stopped by the technician after {result.last.seconds:.0f} s"
    if result.status is not None and result.status < 0:
        name = signal.Signals(-result.status).name
        return f"the test's process was killed by {name} after {result.last.seconds:.0f} s"
    if result.status:
        return "the test's process ended with an error"
    if not result.last.finished:
        return "the time was over before every pass was done"
    return None


def covered(result: MarchResult) -> float | None:
    """Share of the memory that was under test; None: how much there is nobody knows."""
    whole = result.installed or result.before.total
    return round(min(1.0, result.last.most / whole), 4) if whole else None


def coverage(result: MarchResult) -> tuple[str, ...]:
    """How much of the memory was under test, and how."""
    last, whole = result.last, result.installed or result.before.total
    lines = []
    if whole:
        kind = "installed" if result.installed else "the kernel manages"
        share = 100 * last.most / whole
        lines.append(f"covered {gib(last.most)} of {gib(whole)} {kind} ({share:.0f} %)")
    if not last.locked:
        lines.append(f"not locked, so pages may move or be swapped: {last.refusal or 'refused'}")
    if last.given_back:
        lines.append(f"gave {gib(last.given_back)} back during the test, others needed it")
    lines.append(f"{last.moved / 1e9:.1f} GB read and written in {last.seconds:.0f} s")
    return tuple(lines)


def _gap(result: MarchResult) -> NotTested:
    last, whole = result.last, result.installed or result.before.total
    rest = f"{gib(whole - last.most)} of the memory" if whole else "The rest of the memory"
    reasons = [last.refusal or "the kernel, running programs and a reserve hold it"]
    if not last.locked:
        reasons = ["memory could not be locked, so only a small part was taken"]
    if result.before.limited_by:
        reasons.append(f"{result.before.limited_by} allows no more")
    if result.installed and result.before.total and result.installed > result.before.total:
        kept = result.installed - result.before.total
        reasons.append(f"{gib(kept)} of that are kept by firmware, graphics and the kernel")
    return NotTested(what=rest, why="; ".join(reasons), at="machine")


def _list(found: Sequence[LocatedWord], temperature: float | None) -> Iterator[str]:
    for entry in found[:LISTED]:
        wrong = entry.wrong
        where = "unknown" if entry.physical is None else f"{entry.physical:#012x}"
        again = "again wrong" if wrong.again == wrong.read else f"then {wrong.again:016x}"
        yield (
            f"physical {where}, virtual {wrong.address:#x}: wrote {wrong.expected:016x}, "
            f"read {wrong.read:016x}, differs in {wrong.flipped:016x}, {again}; pass "
            f"{wrong.pass_number} ({wrong.test}, {wrong.background}), after {wrong.seconds:.1f} s"
            + ("" if temperature is None else f", {temperature:.0f} °C")
        )
    if len(found) > LISTED:
        yield f"and {len(found) - LISTED} more listed words"


def _passes(last: Snapshot) -> Iterator[str]:
    for title, times in Counter(last.passes).items():
        yield title if times == 1 else f"{title}: {times} times"


def _clean_modules(pattern: FaultPattern, modules: MemoryMap) -> Iterator[Reading]:
    """Where every wrong word's module is known, the others had none."""
    for module in modules.modules:
        if module not in pattern.per_module:
            yield Reading(
                check="memory.module-words",
                at=module,
                outcome=Outcome.PASSED,
                source=modules.source,
                says=f"No wrong word lies in this module. {modules.says}",
            )


def _modules(pattern: FaultPattern, modules: MemoryMap) -> Iterator[Yield]:
    for module, bits in pattern.per_module.items():
        yield Reading(
            check="memory.module-words",
            at=module,
            outcome=Outcome.FAILED,
            value=bit_words(bits),
            source=modules.source,
            says=f"Wrong words lie in this module: {bit_words(bits)}. {modules.says}",
        )
    if pattern.unsure:
        names = ", ".join(modules.modules) or "modules the firmware does not name"
        yield NotTested(
            what="Which memory module the wrong words lie in",
            why=f"one of these: {names}. {modules.says} Test each module alone to know.",
        )


def _same_bits(pattern: FaultPattern, modules: MemoryMap) -> Reading:
    same = pattern.same_bits_everywhere
    says = None
    if same is True:
        says = f"{bit_words(pattern.bits).capitalize()} fails in every module that failed."
    elif same is False:
        says = "The modules that failed do not fail in the same data bits."
    return Reading(
        check="memory.same-bits",
        at="memory-controller",
        outcome=Outcome.NOT_JUDGED
        if same is None
        else (Outcome.FAILED if same else Outcome.PASSED),
        value=bit_words(pattern.bits),
        source=SOURCE,
        says=says or f"Wrong in {bit_words(pattern.bits)}.",
        why_not=None
        if same is not None
        else "wrong words were not found in two modules that can be told apart",
        details=(f"byte lanes {', '.join(map(str, pattern.lanes))}",)
        + (("all within one row of a module",) if pattern.near else ())
        + (f"{pattern.stored} of the listed words stayed wrong when read again",),
    )


def _address_line(pattern: FaultPattern) -> Reading:
    bits = pattern.address_bits
    says = (
        "Words held what another address was given: address bit "
        + ", ".join(map(str, bits))
        + " does not switch."
        if bits
        else "No word held what another address was given."
    )
    return Reading(
        check="memory.address-line",
        at="memory-controller",
        outcome=Outcome.FAILED if bits else Outcome.PASSED,
        value=", ".join(map(str, bits)) or None,
        source=SOURCE,
        says=says,
        details=tuple(f"offset {a:#x} held the content of {b:#x}" for a, b in pattern.aliased[:8]),
    )


def gib(size: int) -> str:
    if size < 1 << 30:
        return f"{size / (1 << 20):.0f} MiB"
    return f"{size / (1 << 30):.1f} GiB"
