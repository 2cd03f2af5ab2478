"""The three kinds of work, done once each time they are asked; what came of it as bytes."""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from typing import Any, Final, Protocol

from . import shaders
from .gl import Driver, NoGraphics

SIDE: Final = 512
"""Pixels of four words in a row, and rows."""
PICTURE_SIDE: Final = 1024
"""Pixels of one word."""
GRAIN_SIDE: Final = 256
CORNERS: Final = 3 * 256
"""Of the triangles that a picture is made of."""

_FRAGMENT, _VERTEX, _COMPUTE = 0x8B30, 0x8B31, 0x91B9
_COMPILED, _LINKED = 0x8B81, 0x8B82
_TEXTURE, _FRAMEBUFFER, _RENDERBUFFER = 0x0DE1, 0x8D40, 0x8D41
_COLOUR, _DEPTH, _WHOLE = 0x8CE0, 0x8D00, 0x8CD5
_RGBA, _RGBA8, _RGBA_INTEGER, _RGBA32UI, _DEPTH24 = 0x1908, 0x8058, 0x8D99, 0x8D70, 0x81A6
_BYTES, _WORDS = 0x1401, 0x1405
_STORAGE, _READ_BIT, _STREAM_READ = 0x90D2, 0x1, 0x88E1
_BUFFER_UPDATE: Final = 0x200
_TRIANGLES: Final = 4
_DEPTH_TEST, _BLEND, _FROM_ALPHA, _REST_OF_ALPHA = 0x0B71, 0x0BE2, 0x0302, 0x0303
_CLEAR_ALL: Final = 0x4100


class ChipWork(Protocol):
    """One kind of work on one chip."""

    kind: str
    row: int
    """32-bit words in a row of what comes of it."""
    exact: bool
    """True: the processor knows what has to come of it."""

    def run(self, seed: int, rounds: int, spoilt: int = 0) -> bytes:
        """Do it once, and wait for the end. Raises Lost, NoGraphics."""
        ...


def kinds_of(driver: Driver, grain: bytes) -> tuple[ChipWork, ...]:
    """What this driver can do. Raises NoGraphics. ``grain``: the texture of the picture."""
    makers: list[Callable[[], ChipWork]] = [
        lambda: Integers(driver),
        lambda: Picture(driver, grain),
    ]
    if driver.version >= (3, 1):
        makers.insert(1, lambda: Compute(driver))
    return tuple(make() for make in makers)


class _Program:
    """Shaders, linked, and the numbers they are given."""

    def __init__(self, driver: Driver, **sources: str) -> None:
        self._driver, self._gl = driver, driver.gl
        self._program = self._gl.glCreateProgram()
        stages = {"vertex": _VERTEX, "fragment": _FRAGMENT, "compute": _COMPUTE}
        for stage, source in sources.items():
            shader = self._gl.glCreateShader(stages[stage])
            text = ctypes.c_char_p(source.encode("ascii"))
            self._gl.glShaderSource(shader, 1, ctypes.byref(text), None)
            self._gl.glCompileShader(shader)
            self._must(self._gl.glGetShaderiv, shader, _COMPILED, f"{stage} shader")
            self._gl.glAttachShader(self._program, shader)
        self._gl.glLinkProgram(self._program)
        self._must(self._gl.glGetProgramiv, self._program, _LINKED, "program")

    def use(self, **numbers: int) -> None:
        self._gl.glUseProgram(self._program)
        for name, value in numbers.items():
            place = self._gl.glGetUniformLocation(self._program, name.encode("ascii"))
            self._gl.glUniform1ui(place, ctypes.c_uint(value))

    def _must(self, ask: Any, number: int, what: int, name: str) -> None:
        good = ctypes.c_int()
        ask(number, what, ctypes.byref(good))
        if not good.value:
            raise NoGraphics(f"the driver did not take the {name}")


def _one(make: Any) -> int:
    """One object of those that OpenGL hands out by number."""
    name = ctypes.c_uint()
    make(1, ctypes.byref(name))
    return name.value


def _target(driver: Driver, side: int, form: int, *, depth: bool) -> int:
    """A picture in memory to be drawn on."""
    gl = driver.gl
    frame = _one(gl.glGenFramebuffers)
    gl.glBindFramebuffer(_FRAMEBUFFER, frame)
    for attachment, its_form in ((_COLOUR, form), *(((_DEPTH, _DEPTH24),) if depth else ())):
        buffer = _one(gl.glGenRenderbuffers)
        gl.glBindRenderbuffer(_RENDERBUFFER, buffer)
        gl.glRenderbufferStorage(_RENDERBUFFER, its_form, side, side)
        gl.glFramebufferRenderbuffer(_FRAMEBUFFER, attachment, _RENDERBUFFER, buffer)
    if gl.glCheckFramebufferStatus(_FRAMEBUFFER) != _WHOLE:
        raise NoGraphics("the driver draws on no picture of that kind")
    driver.check()
    return frame


class Integers:
    """Integers computed for each pixel."""

    kind, row, exact = "integers", SIDE * 4, True

    def __init__(self, driver: Driver) -> None:
        self._driver, self._gl = driver, driver.gl
        self._frame = _target(driver, SIDE, _RGBA32UI, depth=False)
        self._program = _Program(driver, vertex=shaders.WHOLE, fragment=shaders.INTEGERS)

    def run(self, seed: int, rounds: int, spoilt: int = 0) -> bytes:
        gl = self._gl
        gl.glBindFramebuffer(_FRAMEBUFFER, self._frame)
        gl.glViewport(0, 0, SIDE, SIDE)
        gl.glDisable(_DEPTH_TEST)
        gl.glDisable(_BLEND)
        self._program.use(width=SIDE, seed=seed, rounds=rounds, spoilt=spoilt)
        gl.glDrawArrays(_TRIANGLES, 0, 3)
        made = ctypes.create_string_buffer(SIDE * SIDE * 16)
        gl.glReadPixels(0, 0, SIDE, SIDE, _RGBA_INTEGER, _WORDS, made)
        self._driver.check()
        return made.raw


class Compute:
    """The same integers by a compute shader, through the memory that a group shares."""

    kind, row, exact = "compute", SIDE * 4, True

    def __init__(self, driver: Driver) -> None:
        self._driver, self._gl = driver, driver.gl
        self._buffer = _one(self._gl.glGenBuffers)
        self._gl.glBindBuffer(_STORAGE, self._buffer)
        size = ctypes.c_ssize_t(SIDE * SIDE * 16)
        self._gl.glBufferData(_STORAGE, size, None, _STREAM_READ)
        self._program = _Program(driver, compute=shaders.COMPUTE)
        driver.check()

    def run(self, seed: int, rounds: int, spoilt: int = 0) -> bytes:
        gl, size = self._gl, SIDE * SIDE * 16
        gl.glBindBufferBase(_STORAGE, 0, self._buffer)
        self._program.use(seed=seed, rounds=rounds, spoilt=spoilt)
        gl.glDispatchCompute(SIDE * SIDE // 64, 1, 1)
        gl.glMemoryBarrier(_BUFFER_UPDATE)
        where = gl.glMapBufferRange(
            _STORAGE, ctypes.c_ssize_t(0), ctypes.c_ssize_t(size), _READ_BIT
        )
        self._driver.check()
        if not where:
            raise NoGraphics("the driver did not give its buffer to be read")
        made = ctypes.string_at(where, size)
        gl.glUnmapBuffer(_STORAGE)
        return made


class Picture:
    """Triangles over each other, with depth, texture, blending and fractions."""

    kind, row, exact = "picture", PICTURE_SIDE, False

    def __init__(self, driver: Driver, grain: bytes) -> None:
        self._driver, self._gl = driver, driver.gl
        self._frame = _target(driver, PICTURE_SIDE, _RGBA8, depth=True)
        self._program = _Program(driver, vertex=shaders.TRIANGLES, fragment=shaders.PICTURE)
        self._gl.glBindTexture(_TEXTURE, _one(self._gl.glGenTextures))
        side = GRAIN_SIDE
        self._gl.glTexImage2D(_TEXTURE, 0, _RGBA8, side, side, 0, _RGBA, _BYTES, grain)
        self._gl.glGenerateMipmap(_TEXTURE)
        driver.check()

    def run(self, seed: int, rounds: int, spoilt: int = 0) -> bytes:
        gl = self._gl
        gl.glBindFramebuffer(_FRAMEBUFFER, self._frame)
        gl.glViewport(0, 0, PICTURE_SIDE, PICTURE_SIDE)
        gl.glEnable(_DEPTH_TEST)
        gl.glEnable(_BLEND)
        gl.glBlendFunc(_FROM_ALPHA, _REST_OF_ALPHA)
        gl.glClearColor(*(ctypes.c_float(part / 4) for part in range(4)))
        gl.glClear(_CLEAR_ALL)
        self._program.use(rounds=rounds, spoilt=spoilt)
        gl.glDrawArrays(_TRIANGLES, 0, CORNERS)
        made = ctypes.create_string_buffer(PICTURE_SIDE * PICTURE_SIDE * 4)
        gl.glReadPixels(0, 0, PICTURE_SIDE, PICTURE_SIDE, _RGBA, _BYTES, made)
        self._driver.check()
        return made.raw
