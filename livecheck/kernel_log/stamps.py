"""What stands before the kernel's own words in a line of a log: when, how grave, whose.

Forms: dmesg(1), journalctl(1), syslog files, RFC 5424; lines of /dev/kmsg and of netconsole's
extended console (``Documentation/ABI/testing/dev-kmsg``,
``Documentation/networking/netconsole.rst``); all of these pasted, quoted, coloured or torn.
"""

from __future__ import annotations

import functools
import re
import unicodedata
from datetime import UTC, datetime
from typing import Final, NamedTuple

NO_PRIORITY: Final = 6
"""Of a line that does not tell it: then no line is held to be a warning nobody knows."""


class Stamp(NamedTuple):
    """A line taken apart."""

    seconds: float | None
    """Since 1970 where the line has a date, else since the start; None: it tells no time."""
    dated: bool
    step: bool
    """True: the seconds are since the line before."""
    priority: int
    kernels: bool
    """False: the line is some other program's."""
    text: str


# --- The letters


_COLOURS: Final = re.compile(
    r"\x1b(?:\[[0-9;]*[A-Za-z]|\([0B]|\][^\x07\x1b]{0,2000}(?:\x07|\x1b\\))"
)
"""Control sequences, sets of letters (terminfo's sgr0 has one) and links (ECMA-48, 5.4 and 5.6)."""


def words(raw: bytes) -> str:
    """Text of a line. Two bytes a letter, as other systems redirect output, and what is left of
    a torn file are letters and zeros."""
    plain = raw.replace(b"\0", b"").removeprefix(b"\xff\xfe").removeprefix(b"\xfe\xff")
    return _COLOURS.sub("", plain.decode("utf-8", "replace").removeprefix("\ufeff"))


# --- How grave


MOST_OF_KERNEL: Final = 7
"""Above it a facility other than the kernel's own, 0, stands in the bits (syslog(3))."""
LEVELS: Final = ("emerg", "alert", "crit", "err", "warn", "notice", "info", "debug")
_OTHER_NAMES: Final = {"panic": 0, "error": 3, "warning": 4}
_PRIORITY: Final = re.compile(r"^(?:<(\d{1,3})>(?:1 )?|kern\s*:(\w+)\s*: )")


def level(word: str) -> int:
    """A priority by its name or number (syslog(3)); the facility stands in the bits above."""
    if re.fullmatch(r"[0-9]{1,4}", word):
        return int(word) & 7
    return LEVELS.index(word) if word in LEVELS else _OTHER_NAMES.get(word, NO_PRIORITY)


# --- When


_WORD: Final = r"[^\W\d_]{1,12}\.?"
_MONTH: Final = rf"(?P<month>{_WORD}|\d{{1,2}}月)"
_TIME: Final = r"(?P<time>\d\d:\d\d:\d\d)"
_LONG: Final = re.compile(
    rf"^(?P<open>\[)?{_WORD},? {_MONTH} +(?P<day>\d{{1,2}}) {_TIME} (?P<year>\d{{4}})\]? ?"
)
_ISO: Final = re.compile(
    rf"^(?P<open>\[)?(?:{_WORD} )?(?P<date>\d{{4}}-\d\d-\d\d)[T ]{_TIME}"
    r"(?:(?P<comma>,)\d+|\.\d+)?(?P<zone>Z|[+-]\d\d:?\d\d| [+-]\d\d(?:\d\d)?)?"
    r"(?: [A-Z]{2,5}(?= ))?\]? "
)
_SHORT: Final = re.compile(rf"^(?:{_WORD} )?{_MONTH} +(?P<day>\d{{1,2}}) {_TIME}(?:\.\d+)? ")
_UNIX: Final = re.compile(r"^(?P<unix>\d{9,11}\.\d{6}) (?=\S+ \S)")
_COUNTED: Final = re.compile(
    r"^\[\s*(?P<since>\d+\.\d+)(?: <\s*[\d.,]+ ?>)?\] ?(?:\[\s*[TC]\d+\] )?"
)
_MINUTE: Final = re.compile(rf"^(?P<open>\[){_MONTH}(?P<day>\d\d) (?P<time>\d\d:\d\d)\] ?")
_STEP: Final = re.compile(r"^\[\s*\+(?P<step>\d+[.,]\d+)\] ?")
_BY_FIRST: Final = {"[": (_COUNTED, _LONG, _ISO, _STEP, _MINUTE), "0": (_ISO, _SHORT, _UNIX)}
_BY_WORD: Final = (_SHORT, _ISO, _LONG)
_MARGIN: Final = re.compile(r"^[\s>|`*]{0,40}(?:/?[\w./+-]{1,120}:(?=\S))?")
"""Blanks, marks of quotation, and the file's name that grep writes."""

_KMSG: Final = re.compile(r"^(?:\d[\w.+-]*,)?(\d{1,4}),\d+,(\d+),[-c+](?:,[^;]*)?;")
_OWN: Final = re.compile(
    r"^(?:(?!kern\.)\S+ )?"
    r"(?:kern\.(?P<level>\w+):? (?:kernel: ?)?|kernel(?:\[\d+\])?(?:: ?| - - - ))"
)
_SINCE: Final = re.compile(r"^\[\s*\d+\.\d+\] ?")

_MONTHS: Final = {
    month: number
    for number, names in enumerate(
        (
            "jan ene gen sty led oca янв", "feb fev lut uno sub фев", "mar mrt bre мар",
            "apr avr abr kwi dub nis апр", "may mai mag maj mei kve маи мая",
            "jun juin giu cze cen haz июн", "jul juil lug lip cec tem июл",
            "aug aou ago sie srp agu авг", "sep set wrz zar eyl сен",
            "oct okt out ott paz rij eki окт", "nov lis kas ноя",
            "dec dez dic des gru pro ara дек",
        ),
        start=1,
    )
    for month in names.split()
}  # fmt: skip
"""First letters of the months as glibc's locales abbreviate them, without their accents."""


def take_apart(line: str, year: int) -> Stamp:
    """``year`` is for dates that have none."""
    own = _KMSG.match(line)
    if own is not None:
        seconds = int(own[2][:18]) / 1e6
        mine = int(own[1]) <= MOST_OF_KERNEL
        return Stamp(seconds, False, False, int(own[1]) & 7, mine, line[own.end() :])
    mark = _PRIORITY.match(line)
    priority = NO_PRIORITY if mark is None else level(mark[1] or mark[2])
    others = mark is not None and int(mark[1] or 0) > MOST_OF_KERNEL
    line = line if mark is None else line[mark.end() :]
    form = _form(line)
    if form is None and (margin := _MARGIN.match(line)) and margin.end():
        rest = line[margin.end() :]
        form = _form(rest)
        if form is not None or rest.startswith("kernel:"):
            line = rest.rstrip("`")
    groups = {} if form is None else {k: v for k, v in form.groupdict().items() if v}
    found = _rest(line[form.end() :] if form else line, groups, priority, year)
    return found._replace(kernels=False) if others else found


def _rest(line: str, form: dict[str, str], priority: int, year: int) -> Stamp:
    """What follows the time: host, program, often the time again, and the message."""
    own = _OWN.match(line)
    if own is not None:
        priority = level(own["level"]) if own["level"] else priority
        line = line[own.end() :]
    again = _SINCE.match(line)
    named = bool(form.keys() & {"time", "unix"} and not form.keys() & {"open", "comma"})
    kernels = own is not None or again is not None or not named
    if again is not None and "since" not in form:
        line = line[again.end() :]
        form = form or {"since": again[0].strip("[ ]")}
    step = "step" in form
    seconds = float(form["step"].replace(",", ".")) if step else _seconds(form, year)
    dated = bool(form.keys() & {"time", "unix"})
    return Stamp(seconds, dated, step, priority, kernels, line)


def _form(line: str) -> re.Match[str] | None:
    first = line[:1]
    forms = _BY_FIRST.get("0" if first.isdigit() else first, _BY_WORD)
    return next((found for form in forms if (found := form.match(line))), None)


def _seconds(form: dict[str, str], year: int) -> float | None:
    plain = form.get("since") or form.get("unix")
    if plain is not None:
        return float(plain)
    if "time" not in form:
        return None
    if "date" in form:
        whole = form["date"]
    else:
        whole = f"{form.get('year', year)}-{_month(form['month']):02d}-{int(form['day']):02d}"
    moment = _moment(f"{whole} {form['time']}")
    return None if moment is None else moment - _offset(form.get("zone", ""))


@functools.lru_cache(maxsize=64)
def _month(word: str) -> int:
    """0, in no calendar, where nobody knows the word."""
    if word.endswith("月"):
        return int(word[:-1])
    letters = unicodedata.normalize("NFKD", word.lower())
    plain = "".join(letter for letter in letters if not unicodedata.combining(letter))
    return _MONTHS.get(plain[:4]) or _MONTHS.get(plain[:3], 0)


@functools.lru_cache(maxsize=1024)
def _moment(told: str) -> float | None:
    """Many lines are of one second."""
    try:
        return datetime.fromisoformat(told).replace(tzinfo=UTC).timestamp()
    except (ValueError, OverflowError):
        return None


@functools.lru_cache(maxsize=64)
def _offset(zone: str) -> float:
    found = re.fullmatch(r" ?([+-])(\d\d):?(\d\d)?", zone)
    if found is None:
        return 0.0
    minutes = int(found[2]) * 60 + int(found[3] or 0)
    return -60.0 * minutes if found[1] == "-" else 60.0 * minutes
