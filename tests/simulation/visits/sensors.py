"""What a run reads of drives, cards, memory and chips, by sensors with noise."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Final

from livecheck.records import Outcome, Reading
from tests.simulation.visits.frame import GRAPHICS, USB_CHIP, listed, part_id, presence
from tests.simulation.visits.laptop import ATA, CAMERA, DIMMS, NVME, PANEL, WLAN, Laptop
from tests.simulation.visits.physics import board_c, damaged, margin, poisson, wrong_words

GLITCH: Final = 0.0008
"""Chance that a reading fails for nothing, or that a failing one is missed: assumed."""
MINUTES: Final = {"quick": 8.0, "full": 60.0, "soak": 240.0}
PASSES: Final = {"quick": 2.0, "full": 20.0, "soak": 80.0}


@dataclass
class Sheet:
    """The readings of one run as they come in."""

    laptop: Laptop
    depth: str
    battery: bool = False
    found: list[Reading] = field(default_factory=list)

    @property
    def minutes(self) -> float:
        """How long its load lasts."""
        return MINUTES[self.depth]

    def judge(self, check: str, at: str | None, bad: bool, value: float | None = None) -> None:
        """One reading; ``at``: none where nothing is there to be asked."""
        if at is None:
            return
        if self.laptop.dice.random() < GLITCH:
            bad = not bad
        outcome = Outcome.FAILED if bad else Outcome.PASSED
        self.found.append(Reading(check=check, at=at, outcome=outcome, value=value))

    def quirk(self, name: str, chance: float) -> bool:
        """A habit of this machine's make, the same in every run."""
        return random.Random(f"{self.laptop.home}{name}").random() < chance


def drives(sheet: Sheet) -> None:
    """Each drive, or the silence of one."""
    laptop = sheet.laptop
    for place in (*ATA, NVME):
        if listed(laptop, place):
            _medium(sheet, place)
            _link(sheet, place)
        elif presence(laptop, place).value == "nothing answers":
            check = "storage.port-answers" if place in ATA else "pcie.answers"
            sheet.judge(check, place, True)


def _medium(sheet: Sheet, place: str) -> None:
    laptop, at, own = sheet.laptop, part_id(sheet.laptop, place), sheet.laptop.pieces[place]
    share = {"quick": 0.03, "full": 1.0, "soak": 0.2}[sheet.depth]
    own.pending += poisson(laptop, own.growth * sheet.minutes / 60)
    met = poisson(laptop, own.pending * share) if own.pending < 40 else round(own.pending * share)
    late = poisson(laptop, own.stalls * sheet.minutes / 60 + met * 0.5)
    # The drive's own count knows what was met in its life (assumed: two thirds of them).
    counted = own.remapped + round(own.pending * 0.67)
    says = counted > 150 and random.Random(own.serial).random() < 0.6
    sheet.judge("storage.answers", at, False)
    sheet.judge("storage.health", at, says)
    sheet.judge("storage.medium-errors", at, counted >= 1, counted)
    sheet.judge("storage.medium-lost", at, counted >= 20, counted)
    sheet.judge("storage.read-errors", at, met > 0, met)
    sheet.judge("storage.read-medium", at, met > 0, met)
    sheet.judge("storage.read-stalls", at, late > 0, late)
    slow = own.slow_zone and (sheet.depth == "full" or laptop.dice.random() < 0.6)
    sheet.judge("storage.read-slow", at, slow, int(slow))
    sheet.judge("kernel.storage-medium", at, met > 0, met)
    sheet.judge("kernel.storage-timeout", at, late > 3, late)
    sheet.judge("storage.temperature", at, False, round(laptop.dice.gauss(41, 5)))
    sheet.judge("storage.wear", at, False)


def _link(sheet: Sheet, place: str) -> None:
    laptop, at = sheet.laptop, part_id(sheet.laptop, place)
    cold = damaged(laptop, place, laptop.room + 6, sheet.minutes / 3)
    warm = board_c(laptop, 1.0, sheet.minutes)
    hot = damaged(laptop, place, warm, sheet.minutes)
    slow = margin(laptop, place, laptop.room + 6) < -1
    drops = margin(laptop, place, warm) < -3
    rises = warm - laptop.room > 14
    if place in ATA:
        own = laptop.pieces[place]
        own.crc_past += cold + hot
        sheet.judge("storage.link-errors", at, hot + cold > 10, hot + cold)
        sheet.judge("storage.link-change", at, hot + cold > 0, hot + cold)
        sheet.judge("storage.link-history", at, own.crc_past > 0, own.crc_past)
        sheet.judge("storage.link-speed", at, slow)
        sheet.judge("storage.link-slowed", at, drops and not slow)
        sheet.judge("kernel.storage-link", at, hot + cold > 3, hot + cold)
        sheet.judge("kernel.storage-host-bus", at, drops)
        if rises:
            sheet.judge("storage.link-errors-hot", at, hot > 10 + 10 * cold, hot)
        return
    corrected = sheet.quirk(f"{place} chatters", 0.05)
    seen = hot + cold + (laptop.dice.randrange(0, 30) if corrected else 0)
    sheet.judge("pcie.errors", at, seen > 10, seen)
    sheet.judge("kernel.pcie", at, seen > 20, seen)
    sheet.judge("pcie.link-speed", at, slow)
    sheet.judge("pcie.link-width", at, slow and margin(laptop, place, laptop.room) < -2)
    if rises:
        sheet.judge("pcie.errors-hot", at, hot > 10 + 10 * cold, hot)


def memory(sheet: Sheet) -> None:
    """Words written and read again."""
    laptop, tells = sheet.laptop, sheet.quirk("addresses told apart", 0.7)
    warm = min(70.0, board_c(laptop, 0.6, sheet.minutes))
    wrong = {p: wrong_words(laptop, p, warm, PASSES[sheet.depth])
             for p in DIMMS if listed(laptop, p)}  # fmt: skip
    total = sum(wrong.values())
    sheet.judge("memory.words", "machine", total > 0, total)
    for place, count in wrong.items() if tells or len(wrong) == 1 else ():
        sheet.judge("memory.module-words", part_id(laptop, place), count > 0)
    if len(wrong) == 2 and all(wrong.values()):
        same = "controller" in laptop.board.slot_cells
        sheet.judge("memory.same-bits", "memory-controller", same)
    sheet.judge("memory.machine-checks", "machine", False)


def cards(sheet: Sheet) -> None:
    """The wireless card."""
    laptop, at = sheet.laptop, part_id(sheet.laptop, WLAN)
    if WLAN not in laptop.pieces:
        return
    if not listed(laptop, WLAN):
        silent = presence(laptop, WLAN).value == "nothing answers"
        sheet.judge("pcie.answers" if silent else "wireless.present", WLAN, True)
        return
    sheet.judge("wireless.present", at, False)
    _link(sheet, WLAN)
    _radio(sheet, at)


def _radio(sheet: Sheet, at: str | None) -> None:
    laptop, card = sheet.laptop, sheet.laptop.pieces[WLAN]
    unknown = sheet.quirk("card unknown to the stick", 0.05) and not card.spare
    starts = not card.mute and not unknown and margin(laptop, WLAN, laptop.room) > -3
    off = laptop.soft.radio_off
    sheet.judge("wireless.driver", at, not starts and not unknown)
    sheet.judge("wireless.firmware", at, not starts)
    sheet.judge("wireless.blocked", at, off == "hard")
    sheet.judge("wireless.soft-block", at, off == "soft")
    if not starts or off:
        return
    lost = card.radio_db + (45 if laptop.antenna.open or laptop.antenna.ohms > 1 else 0)
    near = laptop.dice.gauss(-48, 6)
    sheet.judge("wireless.address", at, False)
    sheet.judge("wireless.starts", at, False)
    sheet.judge("wireless.hears", at, near - lost < -88, 0 if near - lost < -88 else 9)
    if near - lost >= -88:
        sheet.judge("wireless.signal", at, near - lost < -75, round(near - lost))
        sheet.judge("wireless.chains", at, laptop.dice.random() < 0.02)
    sheet.judge("wireless.scan-link", at, damaged(laptop, WLAN, 40.0, 2.0) > 5)


def chips(sheet: Sheet) -> None:
    """Graphics, panel, USB and the kernel's own words."""
    laptop, panel = sheet.laptop, part_id(sheet.laptop, PANEL)
    warm = board_c(laptop, 1.0, sheet.minutes)
    hours = sheet.minutes / 60
    wrong = poisson(laptop, laptop.board.gpu_wrong * hours * 2 ** ((warm - 65) / 10))
    sheet.judge("display.results", GRAPHICS, wrong > 3, wrong)
    if warm - laptop.room > 14:
        sheet.judge("display.results-hot", GRAPHICS, wrong > 0, wrong)
    sheet.judge("display.hang", GRAPHICS, wrong > 8)
    sheet.judge("display.memory", GRAPHICS, False)
    sheet.judge("kernel.graphics", GRAPHICS, wrong > 5 or sheet.quirk("driver grumbles", 0.05))
    if listed(laptop, PANEL):
        errors = damaged(laptop, PANEL, laptop.room, sheet.minutes)
        sheet.judge("display.link-errors", panel, errors > 10, errors)
        sheet.judge("display.edid", panel, False)
        sheet.judge("display.brightness", panel, laptop.soft.dim)
    resets = poisson(laptop, laptop.board.usb_resets * hours)
    camera = part_id(laptop, CAMERA) if listed(laptop, CAMERA) else None
    habit = sheet.quirk("camera naps", 0.04)
    sheet.judge("usb.resets", camera, resets > 0 or habit, resets)
    sheet.judge("kernel.usb", camera, resets > 0)
    sheet.judge("kernel.usb-host", USB_CHIP, resets > 2)
    results = poisson(laptop, laptop.board.cpu_wrong * hours)
    sheet.judge("processor.results", "processor@socket:U1", results > 0, results)
    sheet.judge("kernel.machine-check", "machine", results > 2)
    sheet.judge("processor.machine-checks", "machine", results > 3)
    sheet.judge("kernel.crash", "machine", False)
    sheet.judge("kernel.firmware", "machine", sheet.quirk("tables careless", 0.3))
    sheet.judge("firmware.acpi-checksums", "firmware", sheet.quirk("tables careless", 0.08))
    sheet.judge("firmware.smbios", "firmware", sheet.quirk("tables careless", 0.2))
    sheet.judge("firmware.settings", "firmware", bool(laptop.soft.hidden))
