"""What is left to say of a line of a driver that no rule knows: by the words drivers share.

Words counted in the format strings of Linux 6.12 ``drivers`` and ``sound``; what they mean is
read from the code around them (common practice, no source for how sound machines behave).
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged
from livecheck.kernel_log.words import (
    COMPLAINT,
    FIRMWARE,
    GRAPHICS,
    HOST_BUS,
    LINK,
    OTHER,
    POWER,
    THERMAL,
    TIMEOUT,
    UNKNOWN,
)

ERROR: Final = 3
"""The kernel's priority of an error (include/linux/kern_levels.h)."""

_DEFERRED: Final = re.compile(r"[ (:=]-(?:517|eprobe_defer)\b")
"""A driver that waits for another and is asked again (include/linux/errno.h)."""

_ERRNO: Final = re.compile(r"[ (:=]-(\d{1,3})\b")


def _words(*patterns: str) -> re.Pattern[str]:
    return re.compile("|".join(patterns))


_COMPLAINT: Final = _words(
    r"fail|error|time[d ]{0,2}-?out|invalid|unable|can'?(?:no)?t |could ?n|corrupt|illegal",
    r"not respond|abort|lost|stuck|hung|hang|wedged|bad |wrong|unexpected|refus|giv(?:en|ing) up",
    r"never (?:\w+ed|came|became)\b|busy|did not (?:stop|start)|crashed|not idle|short circuit",
    r"over.?(?:current|voltage|temperature)|over(?:flow|run)|underrun|recover(?:y|ing)\b",
)

_SILENT: Final = _words(r"time[d ]{0,2}-?out|[ (:=]-(?:5|6|19|71|84|110|121)\b|0xf{8}")
_GRAVE: Final = _words(r"fail(?!ing back)|error|corrupt", _SILENT.pattern)

_MILD: Final = _words(
    r"\b(?:ignor(?:e|ed|ing)|unsupported|deprecated)\b",
    r"(?:\bnot|n't|\bno longer) support(?:s|ed)?\b",
    r"\bdo(?:es)?(?: not|n't) (?:have|provide|advertise|report|implement|need|use|define)\b",
    r"\bno (?:[\w-]+ ){1,5}(?:available|defined|specified|provided|configured)\b",
    r"\b(?:by (?:the )?user|default(?:s|ing)?|falling back|fallback|assuming|skipp(?:ed|ing))\b",
    r"\b(?:cleaning up|clamped|rounding|random|work(?:ed|ing)? ?around|switch(?:ing)? to)\b",
    r"\bnot (?:registered|advertised|implemented|available|present|found|possible|valid|read)\b",
    r"\b(?:do(?:es)? ?n[o']t|not) match|no matching|can ?not recogni[sz]e",
    r"\bdetected, (?:dis|en)abling|\bnot allowed|\bfirmware bug|\bdid not find|\bvbios\b",
    r"\bnot enough (?:\w+ )?(?:handles|resources|room|space|bandwidth)|\bmode disabled",
    r"\bsetting to|\bonly one \w+ is supported",
    r"\b(?:only supports?|reject(?:s|ed|ing)|non-?existent|no (?:\w+ ){1,3}exists|bios)\b",
    r"\b(?:could(?:n't| not)|can(?:no|')t) find|(?:is|was) (?:already|not) (?:set|used|enabled)",
    r"\b(?:unknown|unhandled|unrecogni[sz]ed|undefined|unimplemented|missing|out of range)\b",
    r"\blost:? \d+ (?:samples|out of)|\bis already\b",
    r"\bmismatch|\b(?:invalid|unexpected|bogus|received)\b(?: \w+){0,3}[ _](?:notif\w*|"
    r"events?|records?|messages?|mcs|rates?|peer|tid|nss|states?|param\w*|argument|types?|index|"
    r"ids?|config\w*|sequence|options?|length|size|tables?|number|command|channels?|modes?|entry|"
    r"block|bar|address)\b",
)
"""What a driver went on without: what it does not know, or was told, or takes instead."""

_INSTEAD: Final = _words(
    r"\bfall(?:ing|s)? back|\bfallback|\bus(?:e|es|ing) (?:the )?(?:default|legacy|m[ia][nx]imum)",
    r"\breverting to|\bcontinu(?:e|ing) (?:without|anyway)|\binstead\b(?! of)",
)
"""Says what is done in place of what failed."""

MILD: Final = "its driver went on without it"

_NO_DEVICE: Final = _words(
    r"(?:fail\w*|error|can(?:no|')?t|could ?n[o']t|unable)(?: \w+)? (?:to )?"
    r"(?:(?:un)?regist(?:er|ration)|alloc\w*|creat\w+|(?:dma |re|io)?map(?! legacy)|add|"
    r"init(?:iali[sz]e)? napi|"
    r"request (?:\w+ )?(?:irq|interrupt|gpio|memory|regions?))\b",
    r"\b[vk]?z?alloc\w*(?: \w+){0,3} (?:fail|error)|(?:(?:un)?registration|bind\(\)) fail",
    r"(?:fail\w*|unable|can(?:no|')t|could ?n[o']t) (?:to )?(?:get|obtain|find) .*"
    r"\b(?:\w?clk|clocks?|regulator|supply)\b",
    r"\bregister (?:netdevice|driver|device|dai|irq|card) failed|\bclock register failed",
    r"(?:fail|error|can(?:no|')t|could(?: no|n')t|unable|\bno\b).*\b(?:msi(?:-?x)?|dma mask|"
    r"(?:suitable|usable|64-bit) dma|aspm|lpm|"
    r"(?:host|for|enable|init|set up) wake-?up|wake-?up (?:irq|interrupt|bit)|acpi|"
    r"ds[md]|pci descriptor|gpios?|pinctrl)\b",
    r"\b(?:msi(?:-?x)?|aspm|lpm|ds[md]|gpios?) (?:\w+ )?fail|"
    r"\bno (?:\w+ )?buffers? (?:available|left)|"
    r"out of memory|no memory|not enough memory|\boom\b|\bskb\b|\bno (?:mem|free)\b|"
    r"\bnapi\b|sysfs|debugfs|workqueue",
)

OWN: Final = "its driver lacked something of the system's"
"""Memory, names, interrupts: no device was asked."""

_FILE: Final = r"\b(?:firmware|fw|ucode|microcode|file|rampatch|nvm|patch)\b"
_OF_A_FILE: Final = (
    r"\b(?:invalid|corrupt\w*|missing|unsupported|request|load|fetch|open|find|parse|"
    r"checksum|signature|verif\w+|authenticat\w+|version|size|small|not found|unavailable)\b"
)

_OF_FIRMWARE: Final = _words(rf"{_OF_A_FILE}.*{_FILE}", rf"{_FILE}.*{_OF_A_FILE}", r"-2\)?$")

_NO_FILE: Final = re.compile(r"[ (:=]-2\)?$")
"""ENOENT: a file, a property or a table that is not there."""

_LAYERS: Final = (
    (_words(r"over.?temperature|overheat|too hot|thermal|\bctf\b|ct kill"), THERMAL),
    (
        _words(
            r"0xf{8}|device (?:is )?(?:gone|lost|dead)|now detached|detach(?:ing)? nic|link lost",
            r"no longer (?:present|accessible)|off the bus|pci (?:read|write|error)|bus error",
        ),
        HOST_BUS,
    ),
    (
        _words(
            r"over.?current|over.?voltage|under.?voltage|short circuit|reverse current",
            r"consuming too much|power fault|brown.?out",
        ),
        POWER,
    ),
    (
        _words(
            r"time[d ]{0,2}-?out|-110\b|no (?:reply|response|answer|\w+ interrupt)",
            r"not respond|to respond",
            r"never (?:finish|stabili|complet|releas|becam|came)|\bbusy\b|not (?:yet )?ready",
            r"(?:go|be|not|become) idle|did not (?:stop|start|become|complete|finish)|stuck|hung\b",
        ),
        TIMEOUT,
    ),
    (_words(r"\bcrc\b|parity|checksum error|corrupted \w* ?packet|-(?:71|84|121)\b"), LINK),
    (_OF_FIRMWARE, FIRMWARE),
)
"""What drivers of every kind mean by the same words, the telling ones first."""

_WIDER: Final = {GRAPHICS: frozenset({HOST_BUS, FIRMWARE})}
"""A family's layer -> those that it is given up for; else any. A slow graphics chip is one."""

_SEVERE: Final = _words(
    r"\b(?:hardware|hw) err(?:or)?\b|\b(?:fail(?:ing|ed)|failure) to respond|no reply\b",
    r"not responding|(?:is|are|does|was|stopped) not respond\b|has crashed|is wedged",
    r"\b(?:returns?|reads?(?: as)?|was|got) (?:all ones|0xf{8})|now detached|detach(?:ing)? nic",
    r"\bfatal (?:\w+ ){0,2}error|firmware did ?n[o']t (?:wake|boot|start)",
    r"going to shut ?down|device (?:is )?(?:gone|dead)|link lost|short circuit|over.?temperature!",
)

SEVERE: Final = "its driver says that it failed"


_DUMP: Final = re.compile(r"(?:[\w .\[\]#-]{1,40}[:= ] ?0x(?!f{4})[0-9a-f]+[,; ]*)+$")
_FAULT: Final = re.compile(r"fault|panic|trap|assert|exception|parity|\b(?:ecc|crc)\b")

DUMPED: Final = "the state of a device, written down by its driver"

LONGEST: Final = 200
"""Characters in which a driver has said what failed; more would make a flood of lines slow."""


def complains(line: str) -> bool:
    """Whether a line says that something failed."""
    return _COMPLAINT.search(line[:LONGEST].lower()) is not None


_NAMES: Final = re.compile(r"""(?<![a-zA-Z])['"]| \[|,? in | process """)
"""Behind these may stand what a device or a program calls itself."""


def own_affair(line: str) -> Judged | None:
    """What is left of a complaint of a driver that asked no device."""
    return _own_affair(_NAMES.split(line[:LONGEST], 1)[0].lower())


def _own_affair(line: str) -> Judged | None:
    errno = _ERRNO.search(line)
    line = line.replace("_", " ")
    asked = errno is not None and int(errno[1]) not in errnos.SET_UP and "alloc" not in line
    return (OTHER, OWN, False) if _NO_DEVICE.search(line) is not None and not asked else None


def _went_on(line: str) -> bool:
    if _INSTEAD.search(line) is not None:
        return _SILENT.search(line) is None
    return _MILD.search(line) is not None and _GRAVE.search(line) is None


def _dumped(line: str) -> bool:
    """Names and figures, and no word of what they mean."""
    return not (_COMPLAINT.search(line) or _FAULT.search(line)) and _DUMP.match(line) is not None


def unread(line: str, priority: int, family: Family) -> Judged:
    """What is left to say of a line, behind what stands before each of its family's."""
    line = line[:LONGEST].lower()
    if _DEFERRED.search(line) is not None:
        return OTHER, "a driver waits for another", False
    own = _own_affair(line)
    if own is not None:
        return own
    if _NO_FILE.search(line) is not None and "status" not in line:
        return FIRMWARE, OWN, False
    grave = _SEVERE.search(line) is not None
    if not grave and _went_on(line):
        return (OTHER if _OF_FIRMWARE.search(line) is None else FIRMWARE), MILD, False
    if _dumped(line):
        return OTHER, DUMPED, False
    if family.complains == OTHER or not (priority <= ERROR or _COMPLAINT.search(line)):
        return OTHER, UNKNOWN, False
    errno = _ERRNO.search(line)
    number = int(errno[1]) if errno is not None else 0
    told = errnos.ON_THE_WAY.get(number)
    said = told or next((to for words, to in _LAYERS if words.search(line)), family.complains)
    layer = said if said in _WIDER.get(family.complains, {said}) else family.complains
    if number in errnos.SET_UP and not grave:
        return layer, OWN, False
    return layer, SEVERE if grave else COMPLAINT, grave
