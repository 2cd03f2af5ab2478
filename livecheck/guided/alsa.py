"""Sound through the system's own library (libasound): one tone out, one recording in.

Called by its C interface: opening a device, setting it up, writing and reading frames
are seven functions with plain arguments. The library converts rates and formats, which
the kernel's own interface leaves to whoever calls it.
"""

from __future__ import annotations

import array
import contextlib
import ctypes
import threading
from collections.abc import Callable, Iterator
from typing import Any, Final

from livecheck.guided.bench import CannotAct
from livecheck.guided.events import Heard
from livecheck.guided.sound import clipped, level_at, rms, tone

LIBRARY: Final = "libasound.so.2"
PLAYBACK, CAPTURE = 0, 1
S16_LE: Final = 2
INTERLEAVED: Final = 3
"""SND_PCM_FORMAT_S16_LE and SND_PCM_ACCESS_RW_INTERLEAVED (alsa/pcm.h)."""
RATE: Final = 48000
LATENCY: Final = 100_000
"""Microseconds."""
START_SECONDS: Final = 5.0
SETTLE: Final = 0.4
"""Seconds at the begin of a recording that are not judged: microphones click."""


class Sound:
    """One sound card, by the library's name of it."""

    def __init__(self, library: Any, device: str, source: str | None = None) -> None:
        """``source``: the device to listen to, where it is another one."""
        self._library = library
        self._devices = (device, source or device)

    def play(self, hertz: float, seconds: float, level: float, channel: str) -> None:
        """A tone, to its end. Raises CannotAct."""
        self._play(array.array("h", tone(hertz, seconds, level, channel, RATE)))

    def play_samples(
        self, samples: array.array[int], rate: int, stopped: Callable[[], bool]
    ) -> None:
        """One channel of samples, to their end or until ``stopped``. Raises CannotAct."""
        with self._stream(PLAYBACK, 1, rate) as stream:
            at = 0
            while at < len(samples):
                if stopped():
                    return
                piece = samples[at : at + rate // 10]
                address, _ = piece.buffer_info()
                at += self._moved(stream, self._library.snd_pcm_writei(stream, address, len(piece)))
            self._library.snd_pcm_drain(stream)

    def _play(self, samples: array.array[int], begun: threading.Event | None = None) -> None:
        with self._stream(PLAYBACK, 2) as stream:
            self._write(stream, samples, begun)
            self._library.snd_pcm_drain(stream)

    def listen(self, number: int, hertz: float, seconds: float, level: float) -> Heard:
        """The room first, then the tone; both recorded. Raises CannotAct."""
        with self._stream(CAPTURE, 1) as stream:
            quiet = self._read(stream, seconds + SETTLE)[int(SETTLE * RATE) :]
        # Made before the microphone is opened: on a slow machine it takes its time.
        samples = array.array("h", tone(hertz, seconds + 2.0, level, "both", RATE))
        trouble: list[str] = []
        begun = threading.Event()
        player = threading.Thread(target=self._play_quietly, args=(samples, begun, trouble))
        player.start()
        begun.wait(START_SECONDS)
        try:
            with self._stream(CAPTURE, 1) as stream:
                loud = self._read(stream, seconds + SETTLE)[int(SETTLE * RATE) :]
        finally:
            player.join()
        if trouble:
            raise CannotAct(trouble[0])
        return Heard(
            number=number,
            quiet=level_at(quiet, hertz, RATE),
            tone=level_at(loud, hertz, RATE),
            rms=rms(loud),
            clipped=clipped(loud),
        )

    def _play_quietly(
        self, samples: array.array[int], begun: threading.Event, trouble: list[str]
    ) -> None:
        try:
            self._play(samples, begun)
        except CannotAct as error:
            trouble.append(str(error))
        finally:
            begun.set()

    @contextlib.contextmanager
    def _stream(self, way: int, channels: int, rate: int = RATE) -> Iterator[ctypes.c_void_p]:
        stream = ctypes.c_void_p()
        name = self._devices[way]
        self._good(self._library.snd_pcm_open(ctypes.byref(stream), name.encode(), way, 0))
        try:
            self._good(
                self._library.snd_pcm_set_params(
                    stream, S16_LE, INTERLEAVED, channels, rate, 1, LATENCY
                )
            )
            yield stream
        finally:
            self._library.snd_pcm_close(stream)

    def _write(
        self, stream: ctypes.c_void_p, samples: array.array[int], begun: threading.Event | None
    ) -> None:
        at = 0
        while at < len(samples):
            piece = samples[at : at + 2 * RATE // 10]
            address, _ = piece.buffer_info()
            done = self._library.snd_pcm_writei(stream, address, len(piece) // 2)
            at += 2 * self._moved(stream, done)
            if begun is not None and at * 1_000_000 > 2 * RATE * LATENCY:
                # The buffer is full, so what was first in it sounds by now.
                begun.set()

    def _read(self, stream: ctypes.c_void_p, seconds: float) -> array.array[int]:
        samples = array.array("h")
        while len(samples) < int(seconds * RATE):
            piece = array.array("h", bytes(2 * RATE // 10))
            address, _ = piece.buffer_info()
            done = self._library.snd_pcm_readi(stream, address, len(piece))
            samples.extend(piece[: self._moved(stream, done)])
        return samples

    def _moved(self, stream: ctypes.c_void_p, done: int) -> int:
        """Frames moved; a stream that ran dry is taken up again."""
        if done < 0:
            self._good(self._library.snd_pcm_recover(stream, done, 1))
            return 0
        return done

    def _good(self, status: int) -> None:
        if status < 0:
            words: bytes = self._library.snd_strerror(status)
            raise CannotAct(
                f"sound device {self._devices[PLAYBACK]}: {words.decode('utf-8', 'replace')}"
            )


@contextlib.contextmanager
def opened(card: str, device: str | None = None) -> Iterator[Sound]:
    """The sound card of this kernel name (``card0``). Raises CannotAct.

    Its outputs are set to a medium level and opened, its inputs too, and are put back
    afterwards: a machine started from the stick begins with everything muted.
    """
    from livecheck.guided import mixer

    library = load()
    name = device or f"plughw:{card.removeprefix('card')}"
    number = card.removeprefix("card")
    levels = mixer.opened(library, f"hw:{number}") if device is None else contextlib.nullcontext()
    with levels:
        yield Sound(library, name)


def load() -> Any:
    """The library with the types of what is called. Raises CannotAct where there is none."""
    try:
        library = ctypes.CDLL(LIBRARY)
    except OSError as error:
        raise CannotAct(f"the sound library {LIBRARY} is missing here") from error
    pointer, long = ctypes.c_void_p, ctypes.c_long
    library.snd_strerror.restype = ctypes.c_char_p
    library.snd_pcm_open.argtypes = [ctypes.POINTER(pointer), ctypes.c_char_p, ctypes.c_int,
                                     ctypes.c_int]  # fmt: skip
    library.snd_pcm_set_params.argtypes = [pointer, *[ctypes.c_int] * 2, *[ctypes.c_uint] * 2,
                                           ctypes.c_int, ctypes.c_uint]  # fmt: skip
    for name in ("snd_pcm_writei", "snd_pcm_readi"):
        function = getattr(library, name)
        function.argtypes, function.restype = [pointer, pointer, ctypes.c_ulong], long
    for name in ("snd_pcm_drain", "snd_pcm_close"):
        getattr(library, name).argtypes = [pointer]
    library.snd_pcm_recover.argtypes = [pointer, ctypes.c_int, ctypes.c_int]
    # Errors come back as numbers; the library would print them over the screen as well.
    library.snd_lib_error_set_handler(ctypes.cast(_SILENT, pointer))
    return library


_HANDLER: Final = ctypes.CFUNCTYPE(None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p,
                                   ctypes.c_int, ctypes.c_char_p)  # fmt: skip


def _drop(file: bytes, line: int, function: bytes, error: int, form: bytes) -> None:
    """Takes an error message and drops it."""


_SILENT: Final = _HANDLER(_drop)
"""Kept for as long as the library may call it."""
