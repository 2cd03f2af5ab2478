"""The rules of the house that imports and calls can show, read from the source itself.

What a run really opens is watched in ``test_read_only``.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from tests.import_graph import dependencies, imports, modules, within

PACKAGE = Path(__file__).parent.parent / "livecheck"


MODULES = modules("livecheck")


def wrong_imports(module: str, source: str) -> list[str]:
    """Imports that go against the one direction data takes through the house."""
    found = []
    for imported, on_demand in imports(module, source):
        if within(module, "livecheck.diagnosis"):
            rooms = ("livecheck.diagnosis", "livecheck.topology", "livecheck.records")
            good = within(imported, *rooms, "msgspec")
            if not good and imported.split(".")[0] not in sys.stdlib_module_names:
                found.append(f"diagnosis imports {imported}")
        if within(imported, "livecheck.console", "textual", "rich") and not (
            within(module, "livecheck.console")
            or (module in ("livecheck.cli", "livecheck.__main__") and on_demand)
        ):
            found.append(f"{imported} outside the console")
        if within(imported, "livecheck.cli") and module != "livecheck.__main__":
            found.append("the command line is imported by nothing but the front door")
        if within(imported, "livecheck.commands") and not within(
            module, "livecheck.commands", "livecheck.cli"
        ):
            found.append("commands are imported by nothing but the command line")
        if within(imported, "tests"):
            found.append("the package imports its tests")
    return found


@pytest.mark.parametrize("module", MODULES)
def test_who_may_import_whom(module: str) -> None:
    """Diagnosis knows records only; nothing but the command line knows the console."""
    assert not wrong_imports(module, MODULES[module])


@pytest.mark.parametrize(
    ("module", "source", "complaints"),
    [
        ("livecheck.diagnosis.verdict", "from livecheck.host import Host", 1),
        ("livecheck.diagnosis.verdict", "from livecheck import host, records", 1),
        ("livecheck.diagnosis.verdict", "from .. import knowledge", 1),
        ("livecheck.diagnosis", "from . import blame", 0),
        ("livecheck.diagnosis.verdict", "import math, msgspec", 0),
        ("livecheck.diagnosis.verdict", "import scipy", 1),
        ("livecheck.saving", "from livecheck.console import app", 1),
        ("livecheck.saving", "def f():\n    from textual.app import App", 1),
        ("livecheck.cli", "from livecheck.console import app", 1),
        ("livecheck.cli", "def f():\n    from livecheck.console import app", 0),
        ("livecheck.__main__", "from livecheck import console", 1),
        ("livecheck.__main__", "def f():\n    from livecheck import console", 0),
        ("livecheck.console.app", "import textual", 0),
        ("livecheck.saving", "from livecheck import cli", 1),
        ("livecheck.saving", "from livecheck.commands import run", 1),
        ("livecheck.cli", "from livecheck.commands import run", 0),
        ("livecheck.saving", "import tests.factories", 1),
    ],
)
def test_wrong_imports_are_seen(module: str, source: str, complaints: int) -> None:
    """The scan of imports finds what it is for."""
    assert len(wrong_imports(module, source)) == complaints


def cycle(needs: Mapping[str, set[str]]) -> list[str]:
    """Those that need each other in a ring, in order; empty where there is none."""
    done: set[str] = set()

    def walk(module: str, path: list[str]) -> list[str]:
        if module in path:
            return path[path.index(module) :]
        if module in done:
            return []
        for needed in sorted(needs[module]):
            if ring := walk(needed, [*path, module]):
                return ring
        done.add(module)
        return []

    return next((ring for module in needs if (ring := walk(module, []))), [])


def test_no_module_imports_itself_by_way_of_others() -> None:
    """Over all import statements: in functions and for type checking too."""
    assert not cycle(dependencies(MODULES))


def rooms(sources: Mapping[str, str]) -> dict[str, set[str]]:
    """Room (a package or module below ``livecheck``) -> rooms it imports from."""
    needs: dict[str, set[str]] = {}
    for module, imported in dependencies(sources).items():
        own = f"{module}.".split(".")[1]
        others = {name.split(".")[1] for name in imported if "." in name}
        needs[own] = needs.get(own, set()) | others - {own}
    return needs


def test_no_room_needs_itself_by_way_of_others() -> None:
    """Modules may make no ring where their rooms do: then neither can be read first."""
    assert not cycle(rooms(MODULES))
    low = {"livecheck.low.a": "import livecheck.high.b", "livecheck.low.c": "",
           "livecheck.high.b": "", "livecheck.high.d": "import livecheck.low.c"}  # fmt: skip
    assert not cycle(dependencies(low)) and cycle(rooms(low)) == ["low", "high"]


@pytest.mark.parametrize(
    ("sources", "ring"),
    [
        ({"a": "import b", "b": "def f():\n    import a"}, ["a", "b"]),
        ({"a": "from b import x", "b": "if TYPE_CHECKING:\n    from a import y"}, ["a", "b"]),
        ({"p.a": "from p import b", "p.b": "import p.c", "p.c": "import p.a"}, 3),
        ({"a": "import b, c", "b": "import c", "c": "import os"}, []),
    ],
)
def test_rings_of_imports_are_seen(sources: dict[str, str], ring: list[str] | int) -> None:
    """The search for rings finds what it is for."""
    found = cycle(dependencies(sources))
    assert found == ring if isinstance(ring, list) else len(found) == ring


def _loaded_by(code: str) -> set[str]:
    """Modules that a fresh interpreter holds after running the code."""
    code += "; import sys; print(*sys.modules, sep='\\n')"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_diagnosis_loads_nothing_else() -> None:
    """In a fresh interpreter: judging brings in no other room of the house."""
    loaded = _loaded_by("import livecheck.diagnosis")
    assert "livecheck.records" in loaded
    rooms = {m.split(".")[1] for m in loaded if m.startswith("livecheck.")}
    assert rooms == {"diagnosis", "records", "topology"}


def test_command_line_loads_no_console() -> None:
    """In a fresh interpreter: commands start without the weight of the screen."""
    loaded = _loaded_by("import livecheck.cli, livecheck.saving, livecheck.printing")
    assert not [m for m in loaded if within(m, "livecheck.console", "textual")]


def test_the_first_screen_loads_no_command() -> None:
    """In a fresh interpreter: what it needs by itself is a fraction of the command line."""
    loaded = _loaded_by("import livecheck.__main__, livecheck.console.app")
    assert "textual.app" in loaded
    assert "pyudev" not in loaded
    rooms = {m.split(".")[1] for m in loaded if m.startswith("livecheck.")}
    assert not rooms & {"cli", "commands", "diagnosis", "kernel_log", "probes", "knowledge"}


DOORS = {
    **dict.fromkeys(("open", "io.open", "os.open", "os.fdopen"), "open"),
    **dict.fromkeys(("os.listdir", "os.scandir", "os.walk", "os.stat", "os.lstat"), "look"),
    **dict.fromkeys(("os.readlink", "os.access", "glob.glob", "glob.iglob"), "look"),
    **dict.fromkeys(("os.system", "os.popen", "os.execv", "os.execvp", "os.posix_spawn"), "start"),
    **dict.fromkeys(("Path", "pathlib.Path", "PurePath"), "path"),
}
DOOR_MODULES = {
    "subprocess": "start",
    "pyudev": "udev",
    "fcntl": "fcntl",
    "os.path": "look",
    "socket": "socket",
}
HARDWARE = ("/sys", "/proc", "/dev")

MAY_USE = {
    "open": {
        "livecheck.__main__",
        "livecheck.live_host",
        "livecheck.asking",
        "livecheck.guarded",
        "livecheck.saved_log",
        "livecheck.casefile.atomic",
        "livecheck.probes.child",
        "livecheck.native.pagemap",
        "livecheck.native.dumb",
        "livecheck.listening",
        "livecheck.recorder.file",
        "livecheck.recorder.process",
        "livecheck.guided.live",
        "livecheck.guided.v4l2",
        "livecheck.voice.lamps",
    },
    "look": {"livecheck.live_host", "livecheck.guarded", "livecheck.case_index.outcomes"},
    "start": {"livecheck.asking", "livecheck.console.worker"},
    "udev": {"livecheck.live_host", "livecheck.listening"},
    "fcntl": {
        "livecheck.live_host",
        "livecheck.i2c",
        "livecheck.native.dumb",
        "livecheck.casefile.lock",
        "livecheck.guided.live",
        "livecheck.guided.v4l2",
    },
    "socket": {"livecheck.radio.netlink"},
}
"""The front door opens /dev/null where a descriptor was closed, runner and recorder for their
children, the recorder its record on the shop
drive; the console starts its own worker; the memory test asks where its own pages lie; guided
checks open the input devices and the camera they are about."""

OWN = "/proc/self/"
"""What the kernel keeps of the asking process itself; no hardware of the machine."""

PATH_FREE = ("livecheck.inventory", "livecheck.probes", "livecheck.kernel_log", "livecheck.native")
"""Rooms that see the hardware through a host and have no business with files."""


def doors(source: str) -> Iterator[tuple[str, str]]:
    """Each use of something that leads out of the process: its sort and the call."""
    tree = ast.parse(source)
    local = {node.name for node in ast.walk(tree) if isinstance(node, ast.ClassDef)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        sort = DOORS.get(called) or DOOR_MODULES.get(called.rpartition(".")[0])
        if sort and called not in local:
            yield sort, ast.unparse(node)


def names_hardware(call: str) -> bool:
    """Whether a call spells out a path of the kernel's own file systems."""
    return any(
        isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and not node.value.startswith(OWN)
        and any(node.value == h or node.value.startswith(f"{h}/") for h in HARDWARE)
        for node in ast.walk(ast.parse(call))
    )


def wrong_doors(module: str, source: str) -> list[str]:
    """Ways to files, commands and devices that are not this module's to use."""
    return [
        call
        for sort, call in doors(source)
        if (sort != "path" and module not in MAY_USE[sort])
        or (sort == "path" and within(module, *PATH_FREE) and OWN not in call)
        or (module not in ("livecheck.live_host", "livecheck.listening") and names_hardware(call))
    ]


@pytest.mark.parametrize("module", MODULES)
def test_only_the_host_touches_hardware(module: str) -> None:
    """Files of the kernel, devices and commands are reached through livecheck.live_host alone."""
    assert not wrong_doors(module, MODULES[module])


def test_nothing_asks_past_the_host() -> None:
    """livecheck.asking opens what it is told to: only the host tells it."""
    askers = {m for m, needs in dependencies(MODULES).items() if "livecheck.asking" in needs}
    assert askers == {"livecheck.live_host"}


@pytest.mark.parametrize(
    ("module", "source", "complaints"),
    [
        ("livecheck.probes.drive.smart", "open('/dev/sda', 'rb')", 1),
        ("livecheck.probes.drive.smart", "Path(f'/sys/block/{x}').read_text()", 1),
        ("livecheck.inventory.usb", "os.listdir(folder)", 1),
        ("livecheck.inventory.usb", "subprocess.run(['lsusb'])", 1),
        ("livecheck.saving", "Path('/proc/cpuinfo').read_text()", 1),
        ("livecheck.saving", "Path('reports')", 0),
        ("livecheck.inventory.usb", "host.read('/sys/bus/usb')", 0),
        ("livecheck.live_host", "os.open('/dev/kmsg', os.O_RDONLY)", 0),
        ("livecheck.saving", "pyudev.Context()", 1),
    ],
)
def test_wrong_doors_are_seen(module: str, source: str, complaints: int) -> None:
    """The scan of calls finds what it is for."""
    assert len(wrong_doors(module, source)) == complaints


WRITING_FLAGS = {"O_WRONLY", "O_RDWR", "O_CREAT", "O_TRUNC", "O_APPEND"}
"""open(2)."""
WRITING_METHODS = {"write_text", "write_bytes", "touch", "truncate", "pwrite", "sendfile"}

MAY_WRITE = {
    "livecheck.__main__": "/dev/null, in the place of a descriptor that was closed",
    "livecheck.commands.cases": "the table of cases the user named",
    "livecheck.commands.parts": "the parts sheet, where the user said",
    "livecheck.guided.v4l2": "nothing: a camera shares its pictures only with who may write",
    "livecheck.guided.live": "the backlight's brightness, which is put back",
    "livecheck.voice.lamps": "the keyboard's lamps, which are put back, and the PC speaker",
    "livecheck.installed_log": "the kernel's lines of a journal, in a folder that is thrown away",
    "livecheck.native.dumb": "buffers of the graphics driver that nobody else has, given back",
    "livecheck.native.worker": "its own place in the queue of the out-of-memory killer",
    "livecheck.capture": "the capture file the user named",
    "livecheck.casefile.atomic": "records, on the shop drive",
    "livecheck.probes.child": "/dev/null, for the children",
    "livecheck.recorder.file": "the record of every second, on the shop drive",
    "livecheck.recorder.process": "/dev/null, for itself",
    "livecheck.judgement": "the report, where the user said",
}


def writings(source: str) -> list[str]:
    """Calls that open a file for writing or write one whole."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        last = called.rpartition(".")[2]
        flags = {n.attr for arg in node.args[1:] for n in ast.walk(arg)
                 if isinstance(n, ast.Attribute)}  # fmt: skip
        if (
            (called == "os.open" and flags & WRITING_FLAGS)
            or (last in ("open", "fdopen") and called != "os.open" and _mode(node) & set("wax+"))
            or last in WRITING_METHODS
        ):
            found.append(ast.unparse(node))
    return found


def _mode(call: ast.Call) -> set[str]:
    """Letters of an open mode, wherever among the arguments it stands."""
    said = [a for a in call.args[:2] if isinstance(a, ast.Constant)]
    said += [
        k.value for k in call.keywords if k.arg == "mode" and isinstance(k.value, ast.Constant)
    ]
    modes = [str(s.value) for s in said if set(str(s.value)) <= set("rwaxbt+")]
    return set("".join(modes))


@pytest.mark.parametrize("module", MODULES)
def test_who_may_write(module: str) -> None:
    """Files are written by the modules that save; the host and the probes are none of them."""
    assert not writings(MODULES[module]) or module in MAY_WRITE


def test_every_writer_still_writes() -> None:
    """The list of those who may write has nobody on it without need."""
    assert {m for m in MAY_WRITE if writings(MODULES[m])} == set(MAY_WRITE)


@pytest.mark.parametrize(
    ("source", "complaints"),
    [
        ("os.open(device, os.O_RDWR | os.O_CLOEXEC)", 1),
        ("os.open(device, os.O_RDONLY | os.O_CLOEXEC)", 0),
        ("open(device, 'r+b')", 1),
        ("open(device, mode='wb')", 1),
        ("open(device, 'rb')", 0),
        ("path.open('ab')", 1),
        ("path.write_text('x')", 1),
        ("os.pwrite(descriptor, b'x', 0)", 1),
    ],
)
def test_writings_are_seen(source: str, complaints: int) -> None:
    """The scan for writing finds what it is for."""
    assert len(writings(source)) == complaints


def test_native_code_opens_nothing() -> None:
    """The C part works on memory it is handed; it has no way to a file."""
    sources = [p.read_text("utf-8") for p in sorted((PACKAGE / "native").glob("*.[ch]"))]
    assert sources
    for call in ("open(", "openat(", "syscall(", "ioctl(", "system(", "popen("):
        assert not any(call in source for source in sources), call
