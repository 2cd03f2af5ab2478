"""Asking a drive for its health: smartctl's JSON, and pySMART for what that lacks.

pySMART finds out how a drive is asked, and reads smartctl's text; one call gives both,
because ``--json=o`` carries the text inside the JSON. What the JSON says stands: pySMART
fills in only what is not in it. The command goes through the host, so a capture replays it.
Every option used only reads (``READING_OPTIONS``).
"""

from __future__ import annotations

import json
import logging
import warnings
from collections.abc import Sequence
from typing import Any, Final

import msgspec
import pySMART
from pySMART.smartctl import Smartctl

from livecheck.host import Host
from livecheck.probes.drive import smart_ata, smart_nvme, smart_scsi, smart_tests
from livecheck.probes.drive.smart_data import SelfTest, SmartData, at, whole

READING_OPTIONS: Final = frozenset(
    {"-d", "-l", "-i", "-H", "-A", "-c", "-a", "-x", "-j", "--json=o"}
    | {"--all", "--xall", "--info", "--health", "--scan-open"}
)
"""smartctl options that only look (smartctl(8)); -s, -S, -o, -t, -X and -l …,reset change state."""

DEADLINE: Final = 45.0
"""Seconds for one call; a dying drive may use all of them."""

_ATA: Final = frozenset({"ata", "sat"})

_NONSENSE: Final = (
    ValueError,
    LookupError,
    TypeError,
    AttributeError,
    RuntimeError,
    StopIteration,
    ArithmeticError,
)
"""What parsing the words of a device that lies can end in."""


class Refused(ValueError):
    """A smartctl call that could change something."""


class HostSmartctl(Smartctl):  # type: ignore[misc]  # pySMART carries no types
    """pySMART's door to smartctl, through the host; keeps the JSON of the last full call."""

    def __init__(self, host: Host) -> None:
        super().__init__(smartctl_path="smartctl")
        self._host = host
        self.full: dict[str, Any] = {}
        self.trouble: str | None = None

    def _exec(self, cmd: list[str]) -> tuple[list[str], int]:
        check_reading(cmd)
        if "--all" in cmd:
            return self._exec_full(cmd)
        answer = self._host.command(cmd, DEADLINE)
        if answer.status is None:
            self.trouble = answer.trouble
            return [], 1
        return self._decode_output(answer.out), answer.status

    def _exec_full(self, cmd: list[str]) -> tuple[list[str], int]:
        kind = cmd[cmd.index("-d") + 1] if "-d" in cmd else ""
        # A SATA drive behind a USB bridge is asked for no log that some bridges choke on.
        logs = ["-l", "sataphy", "-l", "devstat"] if kind in _ATA else []
        answer = self._host.command([*cmd[:-1], "--json=o", *logs, cmd[-1]], DEADLINE)
        if answer.status is None:
            self.trouble = answer.trouble
            return [], 1
        self.full = parse(answer.out)
        # Blank lines end a table: pySMART reads on without them.
        return list(at(self.full, "smartctl", "output") or []), answer.status


def check_reading(cmd: Sequence[str]) -> None:
    """Raise Refused unless every option of a smartctl call only reads."""
    values = {i + 1 for i, word in enumerate(cmd) if word in ("-d", "-l")}
    for index, word in enumerate(cmd[1:], start=1):
        if index in values:
            if "reset" in word or ("," in word and not word.startswith(("sat", "megaraid"))):
                raise Refused(f"smartctl {' '.join(cmd[1:])} could change the drive")
        elif word.startswith("-") and word not in READING_OPTIONS:
            raise Refused(f"smartctl {' '.join(cmd[1:])} could change the drive")


def parse(out: bytes) -> dict[str, Any]:
    """smartctl's JSON; empty when it is none."""
    try:
        found = msgspec.json.decode(out)
        json.loads(out, object_pairs_hook=_each_once)
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def _each_once(pairs: list[tuple[str, Any]]) -> None:
    """A key that stands twice means nothing for certain (RFC 8259, 4)."""
    if len({key for key, _ in pairs}) != len(pairs):
        raise ValueError("a key stands twice")


def node(host: Host, scsi: str | None, block: str) -> str:
    """The device node to ask: the SCSI generic node where there is one, else the block device.

    Through the generic node no block device is opened at all. Where the kernel offers none
    the drive's own will do: smartctl opens it for reading only (7.3 and 7.4, seen in strace;
    opened for writing it could wake a drive). ``scsi`` is the device's
    host:channel:target:lun.
    """
    generic = host.names(f"/sys/bus/scsi/devices/{scsi}/scsi_generic") if scsi else ()
    return generic[0] if generic else block


def ask(host: Host, block: str) -> SmartData:
    """Health data of ``/dev/<block>``; ``trouble`` says why there is none."""
    smartctl = HostSmartctl(host)
    # pySMART warns on standard error, which is the technician's screen; what matters of it
    # comes back as ``trouble``.
    logging.getLogger("pySMART").setLevel(logging.CRITICAL)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            device = pySMART.Device(block, smartctl=smartctl)
    except _NONSENSE as error:
        # What pySMART could not read may stand in the JSON all the same.
        found = from_json(smartctl.full)
        if found.interface is None:
            why = f"smartctl's answer could not be read ({type(error).__name__}: {error})"
            return SmartData(trouble=why)
        return believed(found)
    if smartctl.trouble is not None:
        return SmartData(trouble=smartctl.trouble)
    if device.interface is None:
        return SmartData(trouble=_why_no_interface(host, block))
    return believed(decode(device, smartctl.full))


def believed(found: SmartData) -> SmartData:
    """Without a log that holds nothing of a drive, and what was read out of it."""
    if found.nvme is None or not smart_nvme.empty(found.nvme):
        return found
    return msgspec.structs.replace(
        found,
        nvme=None,
        passed=None,
        temperature_c=None,
        messages=(*found.messages, smart_nvme.EMPTY),
    )


def _why_no_interface(host: Host, block: str) -> str:
    """smartctl's own words for a device it does not know how to ask."""
    answer = host.command(["smartctl", "-j", "-i", f"/dev/{block}"], DEADLINE)
    messages = at(parse(answer.out), "smartctl", "messages") or []
    words = [m.get("string", "") for m in messages if isinstance(m, dict)]
    return "; ".join(w for w in words if w) or "smartctl does not know how to ask this device"


def decode(device: Any, full: dict[str, Any]) -> SmartData:
    """Typed health data: smartctl's JSON, and a pySMART device's where the JSON is silent."""
    found = from_json(full)
    attributes = device.if_attributes
    kind = type(attributes).__name__
    ata = smart_ata.from_pysmart(attributes if kind == "AtaAttributes" else None)
    nvme = smart_nvme.from_pysmart(attributes) if kind[:4] == "Nvme" else None
    scsi = smart_scsi.from_pysmart(attributes) if kind == "SCSIAttributes" else None
    verdict = {"PASS": True, "FAIL": False}.get(device.assessment or "")
    return msgspec.structs.replace(
        found,
        interface=device.interface or found.interface,
        capable=found.capable or bool(device.smart_capable or device.smart_enabled),
        passed=verdict if found.passed is None else found.passed,
        solid_state=bool(device.is_ssd) if found.solid_state is None else found.solid_state,
        temperature_c=_heat(device) if found.temperature_c is None else found.temperature_c,
        ata=found.ata or ata,
        nvme=found.nvme or nvme,
        scsi=found.scsi or scsi,
        self_tests=found.self_tests or tuple(_self_test(test) for test in device.tests),
    )


def from_json(full: dict[str, Any]) -> SmartData:
    """What smartctl's JSON says."""
    messages = at(full, "smartctl", "messages") or []
    current = at(full, "interface_speed", "current")
    best = at(full, "interface_speed", "max")
    passed = at(full, "smart_status", "passed")
    nvme = smart_nvme.from_json(full)
    serial = full.get("serial_number")
    return SmartData(
        serial=serial if isinstance(serial, str) else None,
        interface=at(full, "device", "type"),
        capable=bool(at(full, "smart_support", "available") or full.get("smart_status")),
        passed=passed if isinstance(passed, bool) else None,
        exit_status=whole(at(full, "smartctl", "exit_status")),
        messages=tuple(m.get("string", "") for m in messages if isinstance(m, dict)),
        solid_state=True if nvme is not None else _turns_not(full),
        temperature_c=whole(at(full, "temperature", "current")),
        ata=smart_ata.from_json(full),
        nvme=nvme,
        scsi=smart_scsi.from_json(full),
        self_tests=smart_tests.from_json(full),
        link_gbps=_gbps(current),
        link_max_gbps=_gbps(best),
    )


def _turns_not(full: dict[str, Any]) -> bool | None:
    """True for flash: smartctl gives a rotation rate of 0 for what does not turn."""
    rate = whole(full.get("rotation_rate"))
    return None if rate is None else rate == 0


def _gbps(speed: Any) -> float | None:
    if not isinstance(speed, dict):
        return None
    units, per_unit = whole(speed.get("units_per_second")), whole(speed.get("bits_per_unit"))
    return units * per_unit / 1e9 if units and per_unit else None


def _heat(device: Any) -> int | None:
    value = device.temperature
    return value if isinstance(value, int) else None


def _self_test(entry: Any) -> SelfTest:
    return SelfTest(
        kind=str(entry.type),
        status=str(entry.status),
        hours=whole(entry.hours),
        lba=whole(entry.LBA),
    )
