"""The shell of guided checks: watching, acting, giving back; layouts against the headers."""

from __future__ import annotations

import contextlib
import re
import subprocess
import wave
from collections.abc import Iterator
from pathlib import Path

import pytest

from livecheck import kernel_log
from livecheck.commands.guided_terminal import Quit, Terminal, answer
from livecheck.guided import (
    Answered,
    Event,
    GuideOffer,
    GuideStep,
    Skip,
    alsa,
    bench,
    live,
    v4l2,
    videodev,
)
from livecheck.guided.ask import PATTERNS
from livecheck.guided.drive import drive
from livecheck.guided.events import Frames, Heard
from livecheck.guided.input_codes import Abs
from livecheck.guided.sights import Input, UsbSeen
from livecheck.guided.sound import level_at
from livecheck.guided.terminal_pictures import paint
from livecheck.guided.videodev import Flag
from livecheck.guided.watcher import Watcher
from livecheck.host import KernelMessage
from livecheck.records import Outcome
from tests.guided.support import TABLE, TABLES, At, offer, open_check
from tests.inventory.fake_host import FakeHost, attributes, device


class Clock:
    """A clock that goes on by itself, so that no test waits."""

    def __init__(self, step: float = 0.3) -> None:
        self.now, self.step = 0.0, step

    def __call__(self) -> float:
        self.now += self.step
        return self.now


class FakeBench:
    """Remembers what was done to it."""

    def __init__(self, events: bytes = b"", refuses: str = "") -> None:
        self.script, self.refuses = events, refuses
        self.open: list[int] = []
        self.grabbed: list[str] = []
        self.closed: list[int] = []
        self.brightness: list[int] = []
        self.up: list[str] = []

    def _maybe(self) -> None:
        if self.refuses:
            raise bench.CannotAct(self.refuses)

    def events(self, node: str, alone: bool) -> int:
        self._maybe()
        self.grabbed += [node] * alone
        self.open.append(len(self.open) + 10)
        return self.open[-1]

    def read(self, descriptor: int) -> bytes:
        now, self.script = self.script[: bench.EVENT.size], self.script[bench.EVENT.size :]
        return now

    def close(self, descriptor: int) -> None:
        self.closed.append(descriptor)

    def axis(self, node: str, number: int) -> tuple[int, int] | None:
        self._maybe()
        return (0, 1000) if number in (Abs.MT_SLOT, Abs.MT_X, Abs.MT_Y) else None

    def set_brightness(self, folder: str, value: int) -> None:
        self._maybe()
        self.brightness.append(value)

    def play(self, card: str, hertz: float, seconds: float, level: float, channel: str) -> None:
        self._maybe()

    def listen(self, number: int, card: str, hertz: float, seconds: float, level: float) -> Heard:
        self._maybe()
        return Heard(number=number, quiet=-70.0, tone=-30.0, rms=-28.0)

    def frames(self, number: int, node: str) -> Frames:
        self._maybe()
        return Frames(number=number, taken=4, width=640, height=480, mean=100.0, deviation=30.0,
                      bright=0.0, dark=0.1, motion=1.5)  # fmt: skip

    @contextlib.contextmanager
    def switched_on(self, index: int) -> Iterator[bool]:
        self._maybe()
        self.up.append("up")
        yield True
        self.up.append("down")


def script(*events: tuple[int, int, int]) -> bytes:
    """Input events as the kernel writes them."""
    return b"".join(bench.EVENT.pack(n, 0, *event) for n, event in enumerate(events))


def through(
    name: str, host: FakeHost, bench_: FakeBench, answers: list[Event], clock: Clock | None = None
) -> GuideStep:
    """Drive a check; an answer is given whenever the step has choices to take it."""
    left = iter(answers)

    def ask(step: GuideStep) -> Event | None:
        return next(left, None) if step.choices else None

    return drive(open_check(name), host, bench_, At(ask), clock or Clock())


KEYBOARD = [device("input", "event3", "/sys/i/input3/event3", DEVNAME="/dev/input/event3")]


def test_keyboard_is_grabbed_and_given_back() -> None:
    """Every core key, decoded from bytes; its events go to nobody else meanwhile."""
    codes = [k.code for row in TABLE.keys for k in row if k.core]
    fake = FakeBench(script(*((1, c, v) for c in codes for v in (1, 0))))
    step = through("keyboard", FakeHost({}, KEYBOARD), fake, [])
    assert step.readings[0].outcome is Outcome.PASSED
    assert fake.grabbed == ["/dev/input/event3"] and fake.closed == fake.open


def test_keyboard_that_cannot_be_opened_ends_by_a_question() -> None:
    """Without rights nothing comes; the technician still gets a way on."""
    fake = FakeBench(refuses="needs root")
    step = through("keyboard", FakeHost({}, KEYBOARD), fake, [Skip()], Clock(5.0))
    assert step.done and step.not_tested


def test_pad_asks_how_far_it_reaches() -> None:
    host = FakeHost({}, [device("input", "event5", "/sys/i/input5/event5", DEVNAME="/dev/e5")])
    seen: list[GuideStep] = []
    drive(open_check("touchpad"), host, FakeBench(), At(lambda step: Skip(), seen.append), Clock())
    assert any(step.picture for step in seen) or seen[-1].done


def test_brightness_is_put_back_when_the_technician_goes() -> None:
    """Also when the terminal is closed in the middle."""
    host = FakeHost(attributes("/sys/b/lamp", brightness=333, max_brightness=1000))
    for ending in ("through", "quit"):
        fake = FakeBench()

        def ask(step: GuideStep, ending: str = ending) -> Event | None:
            if ending == "quit" and step.lines and step.lines[0].startswith("Brightness"):
                raise Quit
            return Answered(value="done" if step.choices[0].value == "done" else "yes")

        with contextlib.suppress(Quit):
            drive(open_check("backlight"), host, fake, At(ask), Clock())
        assert fake.brightness[-1] == 333
        if ending == "through":
            assert fake.brightness[:-1] == [1000, 600, 300, 100, 1000]


def test_cable_port_is_up_meanwhile() -> None:
    folder = "/sys/n/eno1"
    files = attributes(folder, ifindex=2, carrier=1, speed=1000, duplex="full")
    files |= attributes(f"{folder}/statistics", rx_errors=0, tx_errors=0)
    fake = FakeBench()
    step = through("wired", FakeHost(files), fake, [])
    assert step.readings[0].outcome is Outcome.PASSED and step.readings[0].value == 1000
    assert fake.up == ["up", "down"]


@pytest.mark.parametrize("name", ["sound-output", "sound-input", "camera", "backlight", "wired"])
def test_what_cannot_be_done_is_not_judged(name: str) -> None:
    """The reason stands in the reading; nothing is taken for a fault."""
    files = attributes("/sys/b/lamp", brightness=5, max_brightness=10)
    files |= attributes("/sys/n/eno1", ifindex=2)
    host = FakeHost(files, [device("video4linux", "video0", "/sys/v/video0", DEVNAME="/dev/v0")])
    step = through(name, host, FakeBench(refuses="no way"), [Answered(value="done")] * 3)
    assert step.readings[0].outcome is Outcome.NOT_JUDGED
    assert step.readings[0].why_not == "no way"


def test_usb_ports_with_their_counts_and_messages() -> None:
    """What plugs in, by the inventory's own reading of sysfs; new kernel lines only."""
    hub = "/sys/devices/usb1"
    files = attributes(f"{hub}/1-1", idVendor="1d6b", idProduct="0104", speed="480", serial="S")
    files |= attributes(hub, idVendor="1d6b", idProduct="0002", speed="480", bDeviceClass="09")
    files |= attributes(f"{hub}/1-0:1.0/usb1-port1", connect_type="hotplug", over_current_count=2)
    listed = [device("usb", "usb1", hub, DEVTYPE="usb_device")]
    stick = device("usb", "1-1", f"{hub}/1-1", DEVTYPE="usb_device")

    class Host(FakeHost):
        log: tuple[KernelMessage, ...] = (KernelMessage(1.0, 3, "usb 1-1: old, error -71"),)

        def kernel_log(self) -> tuple[KernelMessage, ...]:
            return self.log

    host = Host(files, listed)
    step = open_check("usb-ports").start()
    with Watcher(host, FakeBench(), Clock(1.0)) as watcher:
        (first,) = watcher.poll(step)
        host.devices = (*listed, stick)
        line = "usb 1-1: device descriptor read/64, error -71"
        host.log = (*host.log, KernelMessage(2.0, 3, line))
        (second,) = watcher.poll(step)
    assert kernel_log.events(host.log)
    assert isinstance(first, UsbSeen) and isinstance(second, UsbSeen)
    assert first.devices == () and first.messages == ()
    (sight,) = second.devices
    assert (sight.place, sight.speed, sight.usb_id) == ("usb:1-1", 480.0, "1d6b:0104")
    assert second.over_current == {"usb:1-1": 2}
    assert second.messages == (("usb:1-1", line),)


# --- Layouts of the kernel's headers


def test_layouts_are_the_kernels(tmp_path: Path) -> None:
    """Source: linux/input.h and linux/videodev2.h of the installed headers, by the compiler."""
    wanted = {
        "EVIOCGRAB": live.EVIOCGRAB, "EVIOCSCLOCKID": live.EVIOCSCLOCKID,
        "EVIOCGABS(0)": live.EVIOCGABS, "EVIOCGKEY(96)": live.EVIOCGKEY,
        "sizeof(struct input_event)": bench.EVENT.size,
        "offsetof(struct input_event, type)": 16, "offsetof(struct input_event, value)": 20,
        "sizeof(struct input_absinfo)": bench.ABSINFO.size,
        "offsetof(struct input_absinfo, maximum)": 8,
        "ABS_MT_SLOT": Abs.MT_SLOT, "ABS_MT_POSITION_X": Abs.MT_X,
        "ABS_MT_POSITION_Y": Abs.MT_Y,
        "VIDIOC_QUERYCAP": videodev.Ioctl.QUERYCAP, "VIDIOC_S_FMT": videodev.Ioctl.S_FMT,
        "VIDIOC_REQBUFS": videodev.Ioctl.REQBUFS, "VIDIOC_QUERYBUF": videodev.Ioctl.QUERYBUF,
        "VIDIOC_QBUF": videodev.Ioctl.QBUF, "VIDIOC_DQBUF": videodev.Ioctl.DQBUF,
        "VIDIOC_STREAMON": videodev.Ioctl.STREAMON, "VIDIOC_STREAMOFF": videodev.Ioctl.STREAMOFF,
        "sizeof(struct v4l2_capability)": videodev.Size.CAPABILITY,
        "offsetof(struct v4l2_capability, capabilities)": 84,
        "sizeof(struct v4l2_format)": videodev.Size.FORMAT, "offsetof(struct v4l2_format, fmt)": 8,
        "offsetof(struct v4l2_pix_format, pixelformat)": 8,
        "offsetof(struct v4l2_pix_format, bytesperline)": 16,
        "sizeof(struct v4l2_requestbuffers)": videodev.Size.REQUEST,
        "sizeof(struct v4l2_buffer)": videodev.Size.BUFFER,
        "offsetof(struct v4l2_buffer, flags)": 12, "offsetof(struct v4l2_buffer, sequence)": 56,
        "offsetof(struct v4l2_buffer, memory)": 60, "offsetof(struct v4l2_buffer, m)": 64,
        "offsetof(struct v4l2_buffer, length)": 72,
        "V4L2_BUF_FLAG_ERROR": Flag.ERROR, "V4L2_CAP_VIDEO_CAPTURE": Flag.CAPTURE,
        "V4L2_BUF_TYPE_VIDEO_CAPTURE": Flag.CAPTURE, "V4L2_MEMORY_MMAP": videodev.MEMORY_MMAP,
        "V4L2_CAP_STREAMING": Flag.STREAMING, "V4L2_CAP_DEVICE_CAPS": Flag.HAS_DEVICE_CAPS,
        **{f"V4L2_PIX_FMT_{name}": int.from_bytes(code, "little")
           for name, code in (("YUYV", b"YUYV"), ("UYVY", b"UYVY"), ("GREY", b"GREY"),
                              ("NV12", b"NV12"), ("YUV420", b"YU12"))},
    }  # fmt: skip
    lines = "".join(f'printf("%lu\\n", (unsigned long)({name}));' for name in wanted)
    headers = ["stdio.h", "stddef.h", "linux/input.h", "linux/videodev2.h"]
    source = tmp_path / "layout.c"
    source.write_text("".join(f"#include <{h}>\n" for h in headers) + f"int main(void) {{{lines}}}")
    subprocess.run(["gcc", "-o", str(tmp_path / "layout"), str(source)], check=True)
    said = subprocess.run([str(tmp_path / "layout")], capture_output=True, text=True, check=True)
    assert dict(zip(wanted, map(int, said.stdout.split()), strict=True)) == wanted
    assert {b"YUYV", b"UYVY", b"GREY", b"NV12", b"YU12"} == set(videodev.FORMATS)


def test_input_events_are_decoded_whole() -> None:
    data = script((1, 30, 1), (0, 0, 0)) + b"\x01\x02"
    first, second = bench.parse(data)
    assert first == Input(seconds=0.0, kind=1, code=30, value=1)
    assert (second.kind, second.seconds) == (0, 1.0)


def test_brightness_of_padded_frames() -> None:
    """Luma of YUYV and UYVY, and lines longer than the picture (v4l2 bytesperline)."""
    form = videodev.asked(b"YUYV")
    assert videodev.answered(form) == videodev.Format(
        width=640, height=480, code=b"YUYV", stride=1280
    )
    two = videodev.Format(width=2, height=2, code=b"YUYV", stride=6)
    assert videodev.brightness(bytes([1, 9, 2, 9, 7, 7, 3, 9, 4, 9, 7, 7]), two) == bytes(
        [1, 2, 3, 4]
    )
    other = videodev.Format(width=2, height=1, code=b"UYVY", stride=4)
    assert videodev.brightness(bytes([9, 1, 9, 2]), other) == bytes([1, 2])


def test_camera_node_that_is_none() -> None:
    with pytest.raises(bench.CannotAct, match="No such file"):
        v4l2.frames(1, "/dev/no-such-camera")


# --- Sound, through the library's own file plug-in


@pytest.mark.parametrize("channel", ["left", "right"])
def test_tone_through_the_library(tmp_path: Path, channel: str) -> None:
    """Source: libasound writes what it was given into a file; the other side stays silent."""
    out = tmp_path / "out.wav"
    sound = alsa.Sound(alsa.load(), f"file:'{out}',wav")
    sound.play(1000.0, 0.5, 0.3, channel)
    with wave.open(str(out)) as file:
        assert (file.getnchannels(), file.getframerate()) == (2, alsa.RATE)
        data = memoryview(file.readframes(1 << 20)).cast("h").tolist()
    sides = {"left": data[::2], "right": data[1::2]}
    other = "right" if channel == "left" else "left"
    assert level_at(sides[channel][:24000], 1000.0, alsa.RATE) == pytest.approx(-10.8, abs=0.3)
    assert not any(sides[other])


def test_a_sound_card_that_is_not_there() -> None:
    """A word why, nothing on the screen, no crash."""
    with pytest.raises(bench.CannotAct, match="sound device"), alsa.opened("card99") as sound:
        sound.play(1000.0, 0.1, 0.3, "both")


def test_silence_is_heard_as_silence() -> None:
    """The library's ``null`` device records nothing but zeros."""
    heard = alsa.Sound(alsa.load(), "null").listen(4, 1000.0, 0.2, 0.3)
    assert heard.number == 4 and heard.rms == -120.0 and heard.tone == -120.0


# --- Terminal


def test_answers_as_typed() -> None:
    step = open_check("display").start()
    assert answer(step, "p") == Answered(value="done")
    assert answer(step, "") == Answered(value="done")
    assert answer(step, "s") == Skip()
    assert answer(step, "nonsense") is None
    with pytest.raises(Quit):
        answer(step, "q")


def test_what_a_terminal_shows() -> None:
    """A line once, the question with its answers, and the way out beside it."""
    said: list[str] = []
    terminal = Terminal(said.append)
    guide = open_check("lid")
    for step in (guide.start(), guide.start(), guide.feed(Answered(value="no"))):
        terminal.show(step)
    text = "\n".join(said)
    assert text.count("Close the lid") == 1 and text.count("s = leave out") == 1
    assert "failed: The lid was closed" in text


def test_patterns_fit_the_screen() -> None:
    painted = [paint(p, 80, 24) for p in PATTERNS]
    assert len(set(painted)) == len(PATTERNS)
    for words in painted:
        rows = re.sub(r"\x1b\[[0-9;]*[A-Za-z]", "", words).split("\n")
        assert len(rows) <= 24 and all(len(row) <= 80 for row in rows)


def test_offers_know_their_titles() -> None:
    one: GuideOffer = offer("camera")
    assert "camera" in one.title.lower() and TABLES
