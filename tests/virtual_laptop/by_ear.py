"""Plays the flow on a virtual laptop by ear and three keys.

``python -m tests.virtual_laptop.by_ear IMAGE FOLDER [--kvm]``

The screen is never looked at. What is waited for is heard in the recording of the sound card,
what was said is held against the case on the stick afterwards, and lamps and PC speaker are
read from the emulator: QEMU's trace of the keyboard's lamps, and its recording of the speaker.
"""

from __future__ import annotations

import argparse
import itertools
import json
import re
import subprocess
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np

from livecheck import knowledge
from livecheck.casefile import CaseFolder
from livecheck.judgement import locate_case
from livecheck.lamp_codes import PATTERNS, Signal
from livecheck.voice import sentences
from livecheck.voice.speech import spoken
from livecheck.wording import clean, text
from tests.virtual_laptop import acpi, command, hearing
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.laptop import Laptop
from tests.virtual_laptop.play import supply
from tests.virtual_laptop.scenarios import OTHER_MEMORY, SOUND
from tests.virtual_laptop.stick import Stick

RATE: Final = 22050
"""What espeak-ng makes and QEMU is told to record: nothing is converted on the way."""
SECONDS: Final = 900.0
LOOKED_EVERY: Final = 1.0
LAMPS: Final = re.compile(rb"@(\d+\.\d+):ps2_set_ledstate \S+ ledstate (\d+)")
ASKS: Final = PATTERNS[Signal.ASKS]
VERDICTS: Final = {code for code in PATTERNS.values() if code.startswith("l")}
YES, NO, AGAIN, WRONG = "ret", "esc", "spc", "x"


class Ear:
    """Listens to a guest's sound card."""

    def __init__(self, guest: Guest, file: Path, speaker: hearing.Speaker) -> None:
        self._guest, self._file, self._speaker = guest, file, speaker
        self._from = 0
        self.waited: list[tuple[str, float]] = []
        """What was waited for, and the least likeness it was found with."""

    def wait_for(self, *sentences: str) -> str:
        """Until one of them was said, after what was waited for before; which one."""
        ends = {}
        for sentence in sentences:
            said, rate = self._speaker.says(spoken(sentence))
            ends[sentence] = hearing.pieces(said, rate)[-2:]
        came: list[str] = []

        def there() -> bool:
            heard = hearing.recording(self._file, RATE)[self._from :]
            for sentence, pieces in ends.items():
                alike = [hearing.found(piece, heard) for piece in pieces]
                least = min(one for one, _ in alike)
                if least > hearing.ALIKE:
                    self._from += max(at for _, at in alike)
                    self.waited.append((sentence, round(least, 4)))
                    came.append(sentence)
                    return True
            return False

        self._guest.until(there, SECONDS, f"{sentences} out of the speaker", every=LOOKED_EVERY)
        return came[0]

    def answer(self, sentence: str, key: str) -> None:
        """Wait for a question, and press a key."""
        self.wait_for(sentence)
        self.press(key)

    def press(self, key: str) -> None:
        """It answers what was said so far: what is waited for then comes behind it."""
        self._from = len(hearing.recording(self._file, RATE))
        self._guest.press(key)


class Lamps:
    """Looks at a guest's keyboard."""

    def __init__(self, guest: Guest, log: Path) -> None:
        self._guest, self._log = guest, log

    def wait_for_question_after_verdict(self) -> None:
        """Until the code of a question follows that of a verdict."""

        def there() -> bool:
            codes = lamp_codes(self._log.read_bytes())
            told = [n for n, code in enumerate(codes) if code in VERDICTS]
            return bool(told) and ASKS in codes[told[0] :]

        self._guest.until(there, SECONDS, "a question by the lamps", every=LOOKED_EVERY)


def started(laptop: Laptop, stick: Stick, folder: Path, accelerated: bool) -> Guest:
    """The laptop switched on, with ears at its sound card, its speaker and its lamps."""
    folder.mkdir()
    line = command.qemu(laptop, (), stick, folder, "livecheck.blind")
    machine = line.index("-machine") + 1
    line[machine] += ",pcspk-audiodev=beeps"
    if accelerated:
        line[machine] = line[machine].replace("accel=tcg", "accel=kvm")
        line[line.index("-cpu") + 1] = "host"
    wave = f"out.frequency={RATE},out.channels=2,out.format=s16"
    line += ["-audiodev", f"wav,id=speech,path={folder}/speech.wav,{wave}",
             "-audiodev", f"wav,id=beeps,path={folder}/beeps.wav,{wave}",
             "-device", "intel-hda", "-device", "hda-output,audiodev=speech",
             "-msg", "timestamp=on", "-trace", "ps2_set_ledstate",
             "-D", f"{folder}/lamps.log"]  # fmt: skip
    page = acpi.Page(folder / "memory", command.PAGE)
    supply(page, laptop, ())
    return Guest(line, folder, page)


def lamp_codes(log: bytes) -> list[str]:
    """Codes as the emulator saw them: lit for less than half a second short, else long."""
    seen = [(float(at), state != b"0") for at, state in LAMPS.findall(log)]
    # The lamps are set one after another: a code goes by the first lit, and the last dark.
    turns = [seen[n] for n in range(len(seen)) if n == 0 or seen[n][1] != seen[n - 1][1]]
    told = [""]
    for (at, lit), (then, _) in itertools.pairwise(turns):
        if lit:
            told[-1] += "s" if then - at < 0.5 else "l"
        elif then - at > 1.0:
            told.append("")
    return [code for code in told if code]


def tones(file: Path) -> list[float]:
    """Frequencies of what the PC speaker gave, in hertz, a tenth of a second each."""
    heard = hearing.recording(file, RATE)
    step = RATE // 10
    parts = (heard[at : at + step] for at in range(0, len(heard) - step, step))
    loud = (part for part in parts if np.sqrt(np.mean(part**2)) > hearing.LOUD)
    return [float(np.argmax(np.abs(np.fft.rfft(part)))) * RATE / step for part in loud]


def first_start(ear: Ear, lamps: Lamps) -> None:
    """A new case, its run without loads, a wrong key, the third key, and off for the swap."""
    ear.wait_for(text("voice.hello"))
    run_without_loads(ear, lamps)
    no_until(ear, "say-again")
    ear.press(WRONG)
    ear.wait_for(text("voice.other-key"))
    ear.answer(text("voice.say-again"), AGAIN)
    ear.answer(text("voice.say-again"), NO)
    ear.answer(text("voice.switch-off"), YES)


def second_start(ear: Ear, lamps: Lamps) -> None:
    """The case goes on by itself; a run without loads; off."""
    ear.wait_for(text("voice.hello"))
    if ear.wait_for(text("voice.was-done"), text("voice.anything-else")) == text("voice.was-done"):
        ear.press(YES)
        ear.wait_for(text("voice.anything-else"))
    ear.press(NO)
    run_without_loads(ear, lamps)
    no_until(ear, "switch-off")
    ear.press(YES)


def run_without_loads(ear: Ear, lamps: Lamps) -> None:
    """To the first way on behind the verdict, and past it.

    Which one that is hangs on the verdict, which is not known here: that it is asked shows by
    the lamps.
    """
    ear.answer(text("voice.start-loads", seconds=10), NO)
    ear.wait_for(text("voice.without-loads"))
    lamps.wait_for_question_after_verdict()
    ear.press(NO)


def no_until(ear: Ear, last: str) -> None:
    """No to every way on before this one, which is asked then."""
    ways = [text(f"voice.{way}") for way in ("cannot", "was-it-done", "say-again", "switch-off")]
    while ear.wait_for(*ways) != text(f"voice.{last}"):
        ear.press(NO)


def should_be_said(case: Path, runs: int) -> Iterator[str]:
    """The verdict after so many runs, from the records on the stick."""
    tables = knowledge.load()
    whole = CaseFolder(case).load()
    loaded = type(whole)(case=whole.case, runs=whole.runs[:runs], damaged=whole.damaged)
    for sentence in sentences.verdict(loaded, locate_case(loaded, tables), tables):
        yield spoken(clean(sentence))


def heard_of(said: Sequence[str], file: Path, speaker: hearing.Speaker) -> list[dict[str, Any]]:
    """Each sentence, and how alike its pieces are to what was recorded."""
    rows = []
    heard = hearing.recording(file, RATE)
    for sentence in said:
        made, rate = speaker.says(sentence)
        alike = sorted(hearing.likeness(made, heard, rate))
        rows.append({
            "sentence": sentence, "pieces": len(alike), "found": sum(a > 0.9 for a in alike),
            "least": round(alike[0], 4), "median": round(alike[len(alike) // 2], 4),
        })  # fmt: skip
    return rows


def main() -> None:
    """Play it; figures go to standard output as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("image", type=Path)
    parser.add_argument("folder", type=Path, help="empty; some gigabytes")
    parser.add_argument("--kvm", action="store_true")
    options = parser.parse_args()
    folder: Path = options.folder
    stick = Stick(options.image, folder)
    root = folder / "root"
    system = folder / "filesystem.squashfs"
    stick.copy_live(system)
    subprocess.run(["unsquashfs", "-quiet", "-no-progress", "-d", str(root), str(system)],
                   check=True)  # fmt: skip
    speaker = hearing.Speaker(root)
    figures: dict[str, Any] = {}
    for number, (laptop, play) in enumerate(((SOUND, first_start), (OTHER_MEMORY, second_start))):
        here = folder / f"start-{number + 1}"
        begun = time.monotonic()
        with started(laptop, stick, here, options.kvm) as guest:
            ear = Ear(guest, here / "speech.wav", speaker)
            play(ear, Lamps(guest, here / "lamps.log"))
            guest.ended(SECONDS)
        (case,) = stick.copy_cases(here / "cases")
        figures[here.name] = {
            "seconds": round(time.monotonic() - begun),
            "waited_for": ear.waited,
            "verdict": heard_of([*should_be_said(case, number + 1)], here / "speech.wav", speaker),
            "runs": len(list(case.glob("runs/*/run.json"))),
            "report": (case / "report.html").is_file(),
            "lamp_codes": lamp_codes((here / "lamps.log").read_bytes()),
            "beeps_hz": sorted(set(tones(here / "beeps.wav"))),
        }
        print(json.dumps(figures, indent=1), flush=True)


if __name__ == "__main__":
    main()
