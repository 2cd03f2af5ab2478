"""What a run reads of heat and power."""

from __future__ import annotations

from tests.simulation.visits.frame import listed, part_id
from tests.simulation.visits.laptop import BAY, CELL, COOLING, CRITICAL_C, JACK, LIMIT_C
from tests.simulation.visits.physics import (
    adapter_watts,
    battery_carries,
    processor_c,
    shown_c,
    system_watts,
)  # fmt: skip
from tests.simulation.visits.sensors import Sheet

CHIP = "processor@socket:U1"


def heat(sheet: Sheet) -> None:
    """At rest, under load, and what the load did."""
    laptop, dice = sheet.laptop, sheet.laptop.dice
    cooler, at = laptop.fitted(COOLING), part_id(laptop, COOLING)
    if cooler is None:
        return
    rest = shown_c(laptop, 0.08, 30) + dice.gauss(0, 1.0)
    free = processor_c(laptop, 1.0, min(sheet.minutes, 10)) + dice.gauss(0, 1.5)
    over = free - LIMIT_C
    sheet.judge("heat.temperature", CHIP, rest > LIMIT_C - 5, round(rest))
    sheet.judge("heat.trip", CHIP, rest > CRITICAL_C - 5, round(rest))
    # A boost runs into the limit for a moment on sound thin machines too (from memory).
    sheet.judge("processor.throttling", CHIP, over > -3, max(0.0, over))
    sheet.judge("heat.throttled", CHIP, over > 4)
    sheet.judge("kernel.thermal", "machine", over > 2)
    ohms = cooler.paste + laptop.mount_gap + dice.gauss(0, 0.05)
    sheet.judge("heat.cooling", at, over > -2 or ohms > 1.5, round(ohms, 2))
    sheet.judge("heat.stopped", at, over > 25)
    critical = processor_c(laptop, 0.25, sheet.minutes) >= CRITICAL_C
    sheet.judge("heat.critical", at, critical)
    if not sheet.quirk("fan not counted", 0.25):
        turns = 0.0 if cooler.dead else cooler.fan * laptop.board.fan_drive * 3400
        hot = free > 75
        sheet.judge("heat.fan", at, hot and turns < 300, round(turns))
    if sheet.depth == "soak":
        sheet.judge("soak.endured", "machine", critical or over > 25)


def power(sheet: Sheet) -> None:
    """Adapter, battery and charging."""
    laptop = sheet.laptop
    comes = 0.0 if sheet.battery else adapter_watts(laptop)
    need = system_watts(laptop, 1.0)
    at = part_id(laptop, JACK)
    if not sheet.battery:
        sheet.judge("power.adapter", at, comes < 8, 1.0 if comes >= 8 else 0.0)
        adapter = laptop.fitted(JACK)
        if adapter is not None and comes >= 8:
            small = adapter.watts < need * 0.9
            sheet.judge("power.adapter-holds", at, comes < need * 0.85, round(comes))
            if sheet.quirk("rating told", 0.5):
                sheet.judge("power.adapter-rating", at, small, adapter.watts)
    _battery(sheet, comes)
    cell = laptop.fitted(CELL)
    if cell is not None:
        sheet.judge("firmware.clock", part_id(laptop, CELL), cell.dead)


def _battery(sheet: Sheet, comes: float) -> None:
    laptop, board, pack = sheet.laptop, sheet.laptop.board, sheet.laptop.fitted(BAY)
    if pack is None:
        return
    if not listed(laptop, BAY):
        # An empty bay and a silent battery look alike; most shops say that one is in.
        if laptop.dice.random() < 0.7:
            sheet.judge("power.battery-present", BAY, True)
        return
    at = part_id(laptop, BAY)
    lost = 1 - pack.capacity + laptop.dice.gauss(0, 0.01)
    sheet.judge("power.battery-present", at, False)
    sheet.judge("power.battery-wear", at, lost > 0.4, round(lost, 3))
    sheet.judge("power.battery-report", at, False)
    if comes >= 8 and laptop.charge < 0.9:
        held = (
            comes < 15 or board.charger < 0.5 or board.hung == "charge" or laptop.soft.charge_stop
        )
        weak = comes < 35 and sheet.minutes < 30 and laptop.dice.random() < 0.5
        sheet.judge("power.charging", at, held or weak, round(100 * laptop.charge))
        told = sheet.quirk("threshold told", 0.7)
        sheet.judge("power.charge-limit", at, laptop.soft.charge_stop and told)
        if not held:
            laptop.charge = min(1.0, laptop.charge + 0.01 * sheet.minutes)
    if sheet.battery or comes < 8:
        holds = battery_carries(laptop, system_watts(laptop, 1.0))
        sheet.judge("power.holds-load", at, not holds or pack.cell_ohms > 0.15 * 1.6)
        laptop.charge = max(0.0, laptop.charge - sheet.minutes / 60 * 0.4 / pack.capacity)
