"""Radios and guided checks in a virtual laptop, where a real kernel answers (``--boot``).

Simulated devices of the kernel's own: radios (mac80211_hwsim), a camera (vivid), a sound
loop (snd-aloop), input (uinput); keys and plugs come from QEMU. The reference for radios
is ``iw``. LIVECHECK_IMAGE names the image; LIVECHECK_OVERLAY=1 runs the checkout's sources
in it, which saves building one after each change.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from livecheck import knowledge

pytest.importorskip("qemu.qmp", reason="qemu.qmp is not installed")
from tests.guided.guest import Shell

pytestmark = pytest.mark.boot
IW = "LD_LIBRARY_PATH=/x/lib /x/iw"
LOOKS = 3


@pytest.fixture(scope="module")
def shell(image: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shell]:
    guest = Shell(image, tmp_path_factory.mktemp("guest"))
    try:
        guest.ready()
        yield guest
    finally:
        guest.close()


# --- Radios

RADIOS = """
import msgspec
from livecheck.live_host import LiveHost
from livecheck.radio import decode
host = LiveHost()
print(msgspec.json.encode({
    "radios": decode.radios(host.radio("wiphy")),
    "interfaces": decode.interfaces(host.radio("interface")),
    "rules": decode.regulatory(host.radio("reg")),
}).decode())
"""

PROBES = """
import msgspec, sys
from livecheck import inventory, knowledge
from livecheck.live_host import LiveHost
from livecheck.probes import Context
from livecheck.probes.wireless import bring_up, scan
from livecheck.records import NotTested, Reading
host = LiveHost()
found = inventory.take(host)
given = Context(host=host, inventory=found, events=(), knowledge=knowledge.load())
kept = [x for p in (bring_up, scan) for x in p.probe(given)]
print(msgspec.json.encode({
    "parts": {p.attributes.get("phy"): p.id for p in found.parts if p.kind == "wireless-card"},
    "readings": [x for x in kept if isinstance(x, Reading)],
    "missed": [x for x in kept if isinstance(x, NotTested)],
}).decode())
"""


def last_line(said: str) -> Any:
    return json.loads([line for line in said.splitlines() if line.startswith("{")][-1])


STATION = "02:00:00:00:01:00"
"""Of the simulation's second radio."""


def beacon(name: str, station: str) -> str:
    """Head of an access point's beacon, in hexadecimal (IEEE 802.11-2020, 9.3.3.2).

    Header to everybody, timestamp, interval and capability (an access point), its name,
    four rates and the channel.
    """
    mac = bytes.fromhex(station.replace(":", ""))
    header = b"\x80\0\0\0" + b"\xff" * 6 + mac * 2 + b"\0\0"
    fixed = bytes(8) + (50).to_bytes(2, "little") + (1).to_bytes(2, "little")
    rates = bytes([1, 4, 0x82, 0x84, 0x8B, 0x96, 3, 1, 1])
    return (header + fixed + bytes([0, len(name)]) + name.encode() + rates).hex()


@pytest.fixture(scope="module")
def air(shell: Shell) -> Shell:
    """Three radios: the second is an access point, the third talks in a cell of its own."""
    shell.run("modprobe mac80211_hwsim radios=3 && sleep 3")
    shell.run(f"{IW} reg set US; sleep 2; {IW} dev wlan1 set type __ap; {IW} dev wlan2 set type "
              "ibss; for n in 1 2; do ip link set wlan$n up; done; "
              f"{IW} dev wlan1 ap start one 2412 50 2 head {beacon('one', STATION)} && "
              f"{IW} dev wlan2 ibss join two 5180 && "
              # It looks for others first, and forms its cell when it finds none.
              f"for n in $(seq 40); do {IW} dev wlan2 link | grep -q Joined && break; sleep 1; done"
              " && sleep 2")  # fmt: skip
    return shell


def test_radios_agree_with_iw(air: Shell) -> None:
    """Channels with their limits, interfaces and rules, each as iw tells them."""
    mine = last_line(air.python(RADIOS))
    for radio in mine["radios"]:
        said = air.run(f"{IW} phy {radio['name']} channels")
        theirs = {}
        for mhz, rest in re.findall(r"\* (\d+) MHz \[\d+\](.*?)(?=\* \d|\Z)", said, re.S):
            off = "disabled" in rest
            theirs[int(mhz)] = (off, "No IR" in rest, "Radar detection" in rest)
        # Of a disabled channel iw tells no more; below 2 GHz it tells halves of a MHz.
        ours = {
            c["mhz"]: (True, False, False)
            if c["disabled"]
            else (False, c["no_transmit"], c["radar"])
            for b in radio["bands"]
            for c in b["channels"]
            if c["mhz"] > 2000
        }
        assert theirs and ours == theirs
    said = air.run(f"{IW} dev")
    theirs_dev = set(re.findall(r"Interface (\S+)\s+ifindex (\d+)\s+wdev \S+\s+addr (\S+)", said))
    assert theirs_dev == {(i["name"], str(i["index"]), i["address"]) for i in mine["interfaces"]}
    said = air.run(f"{IW} reg get")
    country = re.search(r"global\ncountry (\w\w)", said)
    assert country and country[1] == mine["rules"][0]["country"]
    ranges = [tuple(map(float, r)) for r in re.findall(r"\((\d+) - (\d+) @ (\d+)\)", said)]
    assert ranges[: len(mine["rules"][0]["rules"])] == [
        (r["begin_mhz"], r["end_mhz"], r["bandwidth_mhz"]) for r in mine["rules"][0]["rules"]
    ]


def test_a_scan_hears_the_access_point_and_leaves_no_trace(air: Shell) -> None:
    """Levels as iw reads them from the same scan; the interface is down before and after.

    On a crowded machine a beacon may be sent while nobody listens: then there is another scan.
    """
    for _ in range(LOOKS):
        found = last_line(air.python(PROBES, 300))
        part = found["parts"]["phy0"]
        readings = {r["check"]: r for r in found["readings"] if r["at"] == part}
        if readings["wireless.hears"]["value"] == 2:
            break
    for check in ("starts", "hears", "signal", "bands"):
        assert readings[f"wireless.{check}"]["outcome"] == "passed", check
    said = air.run(f"{IW} dev wlan0 scan dump || true")
    levels = [float(x) for x in re.findall(r"signal: (-\d+\.\d+) dBm", said)]
    cells = re.findall(r"^BSS (\S+?)\(", said, re.M)
    assert len(cells) == readings["wireless.hears"]["value"] == 2
    assert readings["wireless.signal"]["value"] == max(levels)
    assert all(any(cell in d for d in readings["wireless.hears"]["details"]) for cell in cells)
    assert STATION in cells, "the access point"
    assert "UP" not in air.run("cat /sys/class/net/wlan0/operstate; ip -br link show wlan0")


def level(air: Shell, dbm: int) -> None:
    """What the simulation lets a radio be heard with, to which the power it sends with is added.

    Its file takes no minus sign.
    """
    for n in (1, 2):
        air.run(f"{IW} dev wlan{n} set txpower {'auto' if dbm > -60 else 'fixed 300'}")
    for n in range(3):
        air.run(f"echo {dbm + (1 << 64)} > /sys/kernel/debug/ieee80211/phy{n}/hwsim/rx_rssi")


def test_a_weak_signal_is_told(air: Shell) -> None:
    """The simulation lowers what the first radio's neighbours send with."""
    level(air, -90)
    found = last_line(air.python(PROBES, 300))
    part = found["parts"]["phy0"]
    readings = {r["check"]: r for r in found["readings"] if r["at"] == part}
    assert readings["wireless.signal"]["outcome"] == "failed"
    assert readings["wireless.signal"]["value"] < -75
    level(air, -50)


def test_a_soft_block_is_told_and_respected(air: Shell) -> None:
    """Told as software's; the radio is not tried and the block stays."""
    switch = air.run("grep -l phy0 /sys/class/rfkill/*/name").strip().replace("/name", "")
    air.run(f"echo 1 > {switch}/soft")
    found = last_line(air.python(PROBES, 300))
    part = found["parts"]["phy0"]
    readings = {r["check"]: r for r in found["readings"] if r["at"] == part}
    assert readings["wireless.soft-block"]["outcome"] == "failed"
    assert readings["wireless.blocked"]["outcome"] == "passed"
    assert knowledge.load().checks["wireless.soft-block"].blames[0].who == "software"
    assert any(m["at"] == part and "blocks the radio" in m["why"] for m in found["missed"])
    assert air.run(f"cat {switch}/soft").strip() == "1"
    air.run(f"echo 0 > {switch}/soft")


# --- Guided checks


def guided(shell: Shell, name: str, *answers: tuple[str, str], seconds: float = 120) -> Any:
    """Run one check by the command line; (words to wait for, what to type)."""
    shell.run("rm -rf /tmp/shop && mkdir -p /tmp/shop")
    shell.send(f"python3 -m livecheck guided --only {name} --shop /tmp/shop --json; echo ENDED\n")
    for words, typed in answers:
        shell.until(words, seconds)
        shell.send(f"{typed}\n")
    shell.until("ENDED", seconds + 120)
    said = shell.run("cat /tmp/shop/livecheck-cases/*/runs/0001/run.json")
    return json.loads(said[said.index("{") :])


def test_every_key_but_one(shell: Shell) -> None:
    """QEMU presses the keys of the machine's own keyboard; F5 stays out and is told."""
    keys = [
        "esc", *(f"f{n}" for n in range(1, 13) if n != 5), "delete", "grave_accent",
        *"1234567890", "minus", "equal", "backspace", "tab", *"qwertyuiop", "bracket_left",
        "bracket_right", "backslash", "caps_lock", *"asdfghjkl", "semicolon", "apostrophe", "ret",
        "shift", *"zxcvbnm", "comma", "dot", "slash", "shift_r", "ctrl", "meta_l", "alt", "spc",
        "alt_r", "left", "up", "down", "right", "esc", "esc", "esc",
    ]  # fmt: skip
    shell.run("rm -rf /tmp/shop && mkdir -p /tmp/shop")
    shell.send("python3 -m livecheck guided --only keyboard --shop /tmp/shop --json; echo ENDED\n")
    shell.until("Press every key once", 120)
    # The check opens the keyboard a moment after it says so, and a finger takes its time.
    heard = shell.listen(4)
    for key in keys:
        shell.tell("send-key", keys=[{"type": "qcode", "data": key}], **{"hold-time": 60})
        heard += shell.listen(0.25)
    heard += shell.listen(5)
    assert "What about the keys" in heard
    shell.send("d\n")
    shell.until("ENDED", 120)
    said = shell.run("cat /tmp/shop/livecheck-cases/*/runs/0001/run.json")
    run = json.loads(said[said.index("{") :])
    (reading,) = run["readings"]
    assert (reading["check"], reading["outcome"]) == ("guided.keyboard", "failed")
    assert reading["details"] == ["F5 does nothing"]
    assert reading["at"] == "keyboard@internal:keyboard"


def test_skipping_is_not_tested(shell: Shell) -> None:
    run = guided(shell, "clock", ("leave out", "s"))
    assert run["readings"] == []
    assert any("left out" in n["why"] for n in run["not_tested"])


def test_clock_that_runs(shell: Shell) -> None:
    run = guided(shell, "clock", ("Is that the right date", "y"))
    assert [r["outcome"] for r in run["readings"]] == ["passed"]


def test_camera_of_the_kernel(shell: Shell) -> None:
    """vivid's moving test picture."""
    shell.run("modprobe vivid n_devs=1 && sleep 4")
    run = guided(shell, "camera", ("Take pictures", "t"), seconds=180)
    assert [r["outcome"] for r in run["readings"]] == ["passed"]
    assert "640×480" in run["readings"][0]["says"]
    shell.run("modprobe -r vivid")


SOUND = """
import msgspec
from livecheck.guided import alsa
sound = alsa.Sound(alsa.load(), "plughw:Loopback,0", "plughw:Loopback,1")
print(msgspec.json.encode(sound.listen(1, 1000.0, 1.0, 0.3)).decode())
"""


def test_sound_loop_of_the_kernel(shell: Shell) -> None:
    """20 log 0.3 = -10.46 dB comes back; a side that leads nowhere is digital silence."""
    if "missing" in shell.python("import ctypes\ntry: ctypes.CDLL('libasound.so.2')\n"
                                 "except OSError: print('missing')"):  # fmt: skip
        pytest.skip("the image has no libasound")
    shell.run("modprobe snd-aloop && sleep 2")
    heard = last_line(shell.python(SOUND))
    assert heard["tone"] == pytest.approx(-10.46, abs=0.2)
    assert heard["quiet"] <= -90
    run = guided(shell, "sound-input", ("Play", "p"))
    (reading,) = run["readings"]
    assert reading["outcome"] == "failed" and "digital silence" in reading["says"]
    shell.run("modprobe -r snd-aloop")


PAD = """
import fcntl, os, struct, threading, time
from livecheck import knowledge
from types import SimpleNamespace
from livecheck.guided import Answered, GuideOffer, open_guide
from livecheck.guided.drive import drive
from livecheck.guided.live import LiveBench
from livecheck.guided.rows import GuideTarget
from livecheck.records import InputFacts
from livecheck.live_host import LiveHost
event = struct.Struct("@llHHi")
f = os.open("/dev/uinput", os.O_WRONLY)
for request, values in ((0x40045564, (1, 3)), (0x40045565, (0x14a, 0x110)),
                        (0x40045567, (0x2f, 0x39, 0x35, 0x36))):
    for value in values:
        fcntl.ioctl(f, request, value)
for axis, most in ((0x2f, 4), (0x39, 65535), (0x35, 1000), (0x36, 600)):
    fcntl.ioctl(f, 0x401c5504, struct.pack("@H2x6i", axis, 0, 0, most, 0, 0, 0))
fcntl.ioctl(f, 0x405c5503, struct.pack("@HHHH80sI", 6, 1, 1, 1, b"bench pad", 0))
fcntl.ioctl(f, 0x5501)
time.sleep(2)
def send(*events):
    os.write(f, b"".join(event.pack(0, 0, *e) for e in events))
def fingers():
    time.sleep(3)
    for row in range(13):
        send((3, 0x2f, 0), (3, 0x39, row), (1, 0x14a, 1), (3, 0x36, min(599, row * 50)))
        for x in range(0, 1000, 40):
            send((3, 0x35, x), (0, 0, 0))
            time.sleep(0.003)
        send((3, 0x39, -1), (1, 0x14a, 0), (0, 0, 0))
    for value in (1, 0):
        send((1, 0x110, value), (0, 0, 0))
host = LiveHost()
inputs = [d.path for d in host.udev("input") if d.name.startswith("input")]
path = [p for p in inputs if host.read(p + "/name") == b"bench pad\\n"][0]
tables, table = knowledge.load(), knowledge.guided()
row = [r for r in table.check if r.name == "touchpad"][0]
pad = GuideTarget(component="pad", name="pad", path=path, facts=InputFacts(kind="touchpad"))
guide = open_guide(GuideOffer(row=row, targets=(pad,)), tables, table)
threading.Thread(target=fingers, daemon=True).start()
end = time.monotonic() + 90
def ask(step):
    if time.monotonic() > end:
        return Answered(value="done")
    time.sleep(0.02)
step = drive(guide, host, LiveBench(), SimpleNamespace(show=lambda step: None, ask=ask))
print("PAD", step.readings[0].outcome, step.readings[0].value, step.readings[0].says)
"""
"""Requests of uinput (include/uapi/linux/uinput.h): UI_SET_EVBIT, UI_SET_KEYBIT, UI_SET_ABSBIT,
UI_ABS_SETUP, UI_DEV_SETUP, UI_DEV_CREATE."""


def test_touchpad_by_the_kernels_own_emulation(shell: Shell) -> None:
    """uinput: axes by ioctl, slots by protocol B, the whole surface and the button."""
    shell.run("modprobe uinput")
    said = shell.python(PAD)
    assert "PAD passed" in said, said


def test_pointer_of_the_machine(shell: Shell) -> None:
    """QEMU moves the mouse of the keyboard controller: all ways and both buttons."""
    shell.run("rm -rf /tmp/shop && mkdir -p /tmp/shop")
    shell.send("python3 -m livecheck guided --only pointer --shop /tmp/shop --json; echo ENDED\n")
    shell.until("Now move it all ways", 120)

    def push(kind: str, **data: object) -> None:
        shell.tell("input-send-event", events=[{"type": kind, "data": data}])
        shell.listen(0.3)

    for axis in ("x", "y"):
        for way in (40, 40, -40, -40):
            push("rel", axis=axis, value=way)
    for button in ("left", "right"):
        push("btn", button=button, down=True)
        push("btn", button=button, down=False)
    shell.until("ENDED", 120)
    said = shell.run("cat /tmp/shop/livecheck-cases/*/runs/0001/run.json")
    (reading,) = json.loads(said[said.index("{") :])["readings"]
    assert (reading["check"], reading["outcome"]) == ("guided.pointer", "passed"), reading
    assert reading["at"] == "touchpad@internal:touchpad"


PLUGS = """
import time
from livecheck import knowledge
from types import SimpleNamespace
from livecheck.guided import Answered, GuideOffer, open_guide
from livecheck.guided.drive import drive
from livecheck.guided.live import LiveBench
from livecheck.guided.rows import GuideTarget
from livecheck.live_host import LiveHost
row = [r for r in knowledge.guided().check if r.name == "usb-ports"][0]
places = ["usb:1-2", "usb:1-3"]
offer = GuideOffer(row=row, targets=tuple(GuideTarget(component=p, name=p) for p in places))
def show(step):
    print("LINES", " | ".join(step.lines), flush=True)
end = time.monotonic() + 240
state = {"asked": False}
def ask(step):
    seen = sum("Mbit/s" in line for line in step.lines)
    if step.question:
        return Answered(value="yes")
    if seen or time.monotonic() > end:
        return Answered(value="done")
    time.sleep(0.05)
guide = open_guide(offer, knowledge.load(), knowledge.guided())
step = drive(guide, LiveHost(), LiveBench(), SimpleNamespace(show=show, ask=ask))
for r in step.readings:
    print("PORT", r.at, r.outcome, r.says, flush=True)
"""


def test_a_plug_into_one_of_two_ports(shell: Shell) -> None:
    """QEMU plugs a stick into port 2; the technician says that port 3 gave nothing."""
    shell.send(f"cat > /tmp/plugs.py <<'EOF'\n{PLUGS}\nEOF\npython3 /tmp/plugs.py; echo ENDED\n")
    shell.until("not yet", 120)
    shell.tell("device_add", driver="usb-storage", bus="xhci.0", port="2", drive="known-good",
               id="plugged", serial="GOOD1")  # fmt: skip
    said = shell.until("ENDED", 300)
    shell.tell("device_del", id="plugged")
    assert re.search(r"PORT usb:1-2 passed", said)
    assert re.search(r"PORT usb:1-3 failed", said)


def test_a_block_that_came_back_is_not_signed_off(air: Shell) -> None:
    """Blocked, freed, blocked again: before against after, by the whole hand-over."""
    switch = air.run("grep -l phy0 /sys/class/rfkill/*/name").strip().replace("/name", "")
    air.run("rm -rf /tmp/shop && mkdir -p /tmp/shop")
    run = "python3 -m livecheck run --ticket 7 --probes wireless --shop /tmp/shop >/dev/null 2>&1"
    for blocked in (1, 0):
        air.run(f"echo {blocked} > {switch}/soft; {run}", 180)
    air.run(f"echo 1 > {switch}/soft")
    # Its status says so too.
    said = air.run("python3 -m livecheck hand-over --ticket 7 --shop /tmp/shop --no-guided --json "
                   "2>/dev/null; test $? = 1", 1500)  # fmt: skip
    air.run(f"echo 0 > {switch}/soft")
    found = json.loads(said[said.index("{") :])
    rows = {row["component"]: row for row in found["hand_over"]["rows"]}
    (row,) = [
        r
        for r in rows.values()
        if any(
            h["check"] == "wireless.soft-block" and h["runs_failed"] == [1, 3] for h in r["held"]
        )
    ]
    assert row["state"] == "came back" and found["signed"] is False
    page = air.run(f"cat {found['report']}")
    section = page.partition('id="sign-off"')[2].partition("</section>")[0]
    assert "Not signed off" in section and "came back" in section
