"""A run taken: the kernel's log is read once more when load may have brought something."""

from __future__ import annotations

import msgspec
import pytest
from pytest_mock import MockerFixture

from livecheck import knowledge, run
from livecheck.diagnosis.model.priors import apart
from livecheck.host import KernelMessage, Unreadable
from livecheck.inventory import take
from livecheck.live_host import LiveHost
from livecheck.plan import Plan
from livecheck.probes import Probe, registry
from livecheck.records import Device, Inventory, Outcome, Part, Run
from livecheck.run import RunContext, run_probes, with_stick
from livecheck.topology.graph import build
from livecheck.topology.history import configurations

DRIVE = Part(id="drive:S1", kind="drive", name="Fennel D2", place="slot:x", identity="serial:S1")
# Linux 6.12, block/blk-core.c, blk_status_to_str and the line of blk_print_req_error.
LINE = (
    "critical medium error, dev nvme0n1, sector 200000 op 0x0:(READ) flags 0x80700 "
    "phys_seg 4 prio class 2"
)


def _message(text: str, seconds: float) -> KernelMessage:
    return KernelMessage(seconds=seconds, priority=3, text=text)


def test_what_load_brings_to_light_counts(mocker: MockerFixture) -> None:
    """The log's second reading takes the place of the first; without news it stays."""
    try:
        LiveHost().kernel_log()
    except Unreadable as error:
        pytest.skip(f"this user may not read the kernel's messages: {error}")
    taken = take(LiveHost())
    found = msgspec.structs.replace(
        taken,
        parts=(*taken.parts, DRIVE),
        devices=(
            *taken.devices,
            msgspec.structs.replace(
                taken.devices[0], name="nvme0n1", subsystem="block", component=DRIVE.id
            ),
        ),
    )
    logs = mocker.patch.object(run, "_kernel_messages")
    logs.return_value = ((_message(LINE, 90.0),), ())
    plan = Plan(probes=("kernel", "processor"))
    quick = Probe(
        name="processor",
        title="stands for any load",
        function="livecheck.probes.firmware.tables:probe",
        passive=False,
        deadline=20,
    )
    kernel = registry.BY_NAME["kernel"]
    mocker.patch.object(run, "planned_probes", return_value=(kernel, quick))
    begun = Run(number=0, started="2026-03-01T10:00:00Z", inventory=found)
    context = RunContext(host=LiveHost(), plan=plan, knowledge=knowledge.load())
    done = run_probes(begun, context)
    medium = [r for r in done.readings if r.check == "kernel.storage-medium" and r.at == DRIVE.id]
    assert [r.outcome for r in medium] == [Outcome.FAILED]
    assert [e.layer for e in done.events] == ["medium"]

    logs.return_value = ((), ())
    done = run_probes(begun, context)
    medium = [r for r in done.readings if r.check == "kernel.storage-medium" and r.at == DRIVE.id]
    assert [r.outcome for r in medium] == [Outcome.PASSED]


def test_the_stick_is_the_benchs_own() -> None:
    """Its drive is marked, by any of its partitions; the machine's own drives are not."""
    other = msgspec.structs.replace(DRIVE, id="drive:S2", place="slot:y", identity="serial:S2")
    devices = tuple(
        Device(subsystem="block", name=name, path=f"/sys/{name}", component=own)
        for name, own in (("sda", "drive:S1"), ("sda2", "drive:S1"), ("sdb1", "drive:S2"))
    )
    found = Inventory(parts=(DRIVE, other), devices=devices)
    mounted = [("/run/live/medium", "/dev/sda2"), ("/", "/dev/sdb1")]
    marked = {p.id: p.bench_own for p in with_stick(found, mounted).parts}
    assert marked == {"drive:S1": True, "drive:S2": False}
    first = Run(number=1, started="", inventory=with_stick(found, mounted))
    tables = knowledge.load()
    graph = build(configurations((first,)), tables)
    own = {str(graph.components[n].id): odds for n, odds in apart(graph, tables.model).items()}
    # Serial numbers this short are not taken for numbers: the place names the part.
    assert own.keys() == {"drive@slot:x"}
    assert 0.0 < own["drive@slot:x"] < 0.1
