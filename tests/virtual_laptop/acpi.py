"""Adapter, battery and thermal zone: an ACPI table whose values the host writes.

Its fields lie in a page of the guest's memory that is a file outside (ACPI 6.5:
``_PSR`` 10.3.1, ``_BIX`` 10.2.2.2, ``_BST`` 10.2.2.6, ``_TMP`` 11.4.14). The guest's kernel
keeps off that page by ``memmap=``.
"""

from __future__ import annotations

import mmap
import struct
import subprocess
from pathlib import Path
from typing import Final

FIELDS: Final = (
    "ONLN", "STAT", "RATE", "REMN", "VOLT", "FULL", "DESG", "CYCL", "TEMP", "CRIT", "BATP",
)  # fmt: skip
"""32 bits each, in this order: mW, mWh, mV, tenths of kelvin."""
DISCHARGING, CHARGING = 1, 2


def source(page: int, serial: str) -> str:
    """The table in ACPI source language; ``page`` is the address of the shared page."""
    fields = "".join(f"            {name}, 32,\n" for name in FIELDS)
    return f"""DefinitionBlock ("", "SSDT", 2, "LRKHLW", "BENCH", 1)
{{
    Scope (\\_SB)
    {{
        OperationRegion (SHRD, SystemMemory, 0x{page:08X}, 0x100)
        Field (SHRD, DWordAcc, NoLock, Preserve)
        {{
{fields}        }}
        Device (ADP1)
        {{
            Name (_HID, "ACPI0003")
            Name (_PCL, Package () {{ \\_SB }})
            Method (_PSR) {{ Return (ONLN) }}
            Method (_STA) {{ Return (0x0F) }}
        }}
        Device (BAT0)
        {{
            Name (_HID, EisaId ("PNP0C0A"))
            Name (_UID, 1)
            Name (_PCL, Package () {{ \\_SB }})
            Method (_STA) {{ If (BATP) {{ Return (0x1F) }} Return (0x0F) }}
            Name (INFO, Package () {{ 0, 0, 0, 0, 1, 11400, 2500, 1000, 0, 95000, 10000, 1000,
                500, 500, 100, 100, "CELL-50", "{serial}", "LION", "Quillon" }})
            Name (PRES, Package () {{ 0, 0, 0, 0 }})
            Method (_BIX, 0, Serialized)
            {{
                INFO[2] = DESG
                INFO[3] = FULL
                INFO[8] = CYCL
                Return (INFO)
            }}
            Method (_BST, 0, Serialized)
            {{
                PRES[0] = STAT
                PRES[1] = RATE
                PRES[2] = REMN
                PRES[3] = VOLT
                Return (PRES)
            }}
        }}
        ThermalZone (THRM)
        {{
            Method (_TMP) {{ Return (TEMP) }}
            Method (_CRT) {{ Return (CRIT) }}
            Name (_TZP, 10)
        }}
    }}
}}
"""


def compiled(folder: Path, page: int, serial: str) -> Path:
    """The table as the firmware would carry it; needs ``iasl`` (package acpica-tools)."""
    text = folder / "bench.asl"
    text.write_text(source(page, serial))
    done = subprocess.run(
        ["iasl", "-p", folder / "bench", text], capture_output=True, text=True, check=False
    )
    table = folder / "bench.aml"
    assert done.returncode == 0 and table.exists(), done.stdout + done.stderr
    return table


class Page:
    """The shared page, as the host sees it: a stretch of the guest's memory file."""

    def __init__(self, memory: Path, at: int) -> None:
        self._file = memory.open("r+b")
        self._map = mmap.mmap(self._file.fileno(), mmap.PAGESIZE, offset=at)

    def set(self, **values: int) -> None:
        for name, value in values.items():
            struct.pack_into("<I", self._map, FIELDS.index(name) * 4, value)

    def celsius(self, value: float) -> None:
        self.set(TEMP=round((value + 273.15) * 10))

    def close(self) -> None:
        self._map.close()
        self._file.close()
