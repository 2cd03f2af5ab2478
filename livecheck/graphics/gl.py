"""OpenGL ES on one graphics chip, without a screen: EGL's devices, a context, its functions.

Names and numbers: Khronos EGL 1.5 and its extensions EGL_EXT_device_enumeration,
EGL_EXT_device_drm_render_node, EGL_EXT_platform_device, EGL_KHR_surfaceless_context,
EGL_MESA_device_software and EGL_EXT_create_context_robustness; OpenGL ES 3.1.
"""

from __future__ import annotations

import ctypes
from typing import Any, Final

from .messages import SOFTWARE

_MOST_DEVICES: Final = 16
_PLATFORM_DEVICE: Final = 0x313F
_EXTENSIONS: Final = 0x3055
_RENDER_NODE: Final = 0x3377
_OPENGL_ES: Final = 0x30A0
_MAJOR, _MINOR, _NONE = 0x3098, 0x30FB, 0x3038
_RESET_STRATEGY, _LOSE_ON_RESET = 0x3138, 0x31BF

RENDERER, VERSION = 0x1F01, 0x1F02
_BY_PROCESSOR: Final = ("llvmpipe", "softpipe", "swrast")
"""How Mesa's renderers that need no chip call themselves (docs.mesa3d.org, Environment)."""


class NoGraphics(Exception):
    """The chip cannot be asked, and why."""


class Lost(Exception):
    """The chip was reset, or did not take the work."""


class Driver:
    """A context on one device; current for the calling thread. Raises NoGraphics."""

    def __init__(self, node: str) -> None:
        try:
            # For all to see: a function is then found where the program's own loader finds it.
            self._egl = ctypes.CDLL("libEGL.so.1", mode=ctypes.RTLD_GLOBAL)
            ctypes.CDLL("libGLESv2.so.2", mode=ctypes.RTLD_GLOBAL)
        except OSError as error:
            raise NoGraphics(f"Mesa is missing from this installation: {error}") from None
        self.gl: Any = ctypes.CDLL(None)
        self.gl.glGetString.restype = ctypes.c_char_p
        self.gl.glMapBufferRange.restype = ctypes.c_void_p
        self._egl.eglGetProcAddress.restype = ctypes.c_void_p
        self._pointers("eglInitialize", 3)
        self._pointers("eglMakeCurrent", 4)
        display = self._display(self._device(node))
        if not self._egl.eglInitialize(display, None, None):
            raise NoGraphics(f"no driver of Mesa takes {node}")
        self.version = self._current(display)
        self.renderer = (self.gl.glGetString(RENDERER) or b"").decode("utf-8", "replace")
        self.software = any(word in self.renderer for word in _BY_PROCESSOR)
        status = self._egl.eglGetProcAddress(b"glGetGraphicsResetStatus")
        self._status = ctypes.CFUNCTYPE(ctypes.c_uint)(status) if status else lambda: 0

    def check(self) -> None:
        """Raises Lost where the chip was reset, or the driver did not take what it was told."""
        if self._status():
            raise Lost("the chip was reset while it worked")
        error = self.gl.glGetError()
        if error:
            raise NoGraphics(f"the driver refused the work (OpenGL error {error:#x})")

    def _pointers(self, name: str, count: int, result: Any = ctypes.c_int) -> Any:
        function = getattr(self._egl, name)
        function.argtypes = [ctypes.c_void_p] * count
        function.restype = result
        return function

    def _extension(self, name: bytes, result: Any, *arguments: Any) -> Any:
        address = self._egl.eglGetProcAddress(name)
        if not address:
            raise NoGraphics(f"this EGL has no {name.decode()}")
        return ctypes.CFUNCTYPE(result, *arguments)(address)

    def _device(self, node: str) -> int:
        integers = ctypes.POINTER(ctypes.c_int)
        query = self._extension(
            b"eglQueryDevicesEXT", ctypes.c_uint, ctypes.c_int, ctypes.c_void_p, integers
        )
        string = self._extension(
            b"eglQueryDeviceStringEXT", ctypes.c_char_p, ctypes.c_void_p, ctypes.c_int
        )
        found, count = (ctypes.c_void_p * _MOST_DEVICES)(), ctypes.c_int()
        query(_MOST_DEVICES, found, ctypes.byref(count))
        for device in (d for d in found[: count.value] if d):
            traits = (string(device, _EXTENSIONS) or b"").split()
            if node == SOFTWARE and b"EGL_MESA_device_software" in traits:
                return int(device)
            if b"EGL_MESA_device_software" not in traits and (
                string(device, _RENDER_NODE) == node.encode()
            ):
                return int(device)
        raise NoGraphics(f"Mesa knows of no chip at {node}")

    def _display(self, device: int) -> int:
        make = self._extension(
            b"eglGetPlatformDisplayEXT",
            ctypes.c_void_p, ctypes.c_uint, ctypes.c_void_p, ctypes.c_void_p,
        )  # fmt: skip
        return int(make(_PLATFORM_DEVICE, device, None) or 0)

    def _current(self, display: int) -> tuple[int, int]:
        """Make the newest context current that there is; its version."""
        egl = self._egl
        egl.eglBindAPI(_OPENGL_ES)
        traits = self._pointers("eglQueryString", 2, ctypes.c_char_p)(display, _EXTENSIONS) or b""
        create = self._pointers("eglCreateContext", 4, ctypes.c_void_p)
        robust = (
            (_RESET_STRATEGY, _LOSE_ON_RESET)
            if b"EGL_EXT_create_context_robustness" in traits.split()
            else ()
        )
        for version in ((3, 1), (3, 0)):
            asked = (_MAJOR, version[0], _MINOR, version[1], *robust, _NONE)
            context = create(display, None, None, (ctypes.c_int * len(asked))(*asked))
            if context and egl.eglMakeCurrent(display, None, None, context):
                return version
        raise NoGraphics("its driver has no OpenGL ES 3.0, which the load is written in")
