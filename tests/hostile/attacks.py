"""Attacks on a whole shop drive, drawn at random, and what must still hold after each."""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Final

from livecheck.casefile import CaseFolder, Shop, ShopError
from livecheck.recorder import openings
from livecheck.records.seal import unsealed
from tests.hostile import drives
from tests.hostile.mutate import TOKENS, mutated, replaced
from tests.hostile.plant import PLANTS, linked, plant
from tests.recorder.machines import MACHINE, NEXT

SECRET: Final = "nobody but root may read this"
NAMES: Final = (b"\xb2", b"\xff\xfe", b"9" * 200, b"0001\n", b"\x1b[2J", b"..x", b"0099", b"con")
Attack = Callable[[Shop, Path, random.Random], None]


class Broken(AssertionError):
    """Something did not hold; says what."""


def _planted(shop: Shop, outside: Path, dice: random.Random) -> None:
    plant(dice.choice(sorted(PLANTS)), drives.place(shop, dice.choice(drives.PLACES)), outside)


def _linked(shop: Shop, outside: Path, dice: random.Random) -> None:
    folders = [p for p in shop.root.rglob("*") if p.is_dir() and not p.is_symlink()]
    if folders:
        linked(dice.choice(folders), outside / f"behind-{dice.randrange(10**9)}")


def _named(shop: Shop, outside: Path, dice: random.Random) -> None:
    folders = [p for p in shop.root.rglob("*") if p.is_dir() and not p.is_symlink()]
    path = os.fsencode(dice.choice(folders or [shop.root])) + b"/" + dice.choice(NAMES)
    if not os.path.lexists(path):
        os.mkdir(path)  # noqa: PTH102 (a name of bytes)


def _changed(shop: Shop, outside: Path, dice: random.Random) -> None:
    """A record with other values in it, as whoever can write to the drive may save it."""
    file = dice.choice([p for p in _files(shop) if p.suffix == ".json"] or [None])
    if file is None:
        return
    try:
        tree = json.loads(unsealed(file.read_bytes()))
        for _ in range(dice.choice((1, 2, 4))):
            replaced(tree, dice)
        file.write_text(json.dumps(tree))
    except ValueError:
        file.write_bytes(dice.choice(TOKENS))


def _scrambled(shop: Shop, outside: Path, dice: random.Random) -> None:
    files = _files(shop)
    if files:
        file = dice.choice(files)
        file.write_bytes(mutated(file.read_bytes(), dice, [file.read_bytes(), *TOKENS]))


def _moved(shop: Shop, outside: Path, dice: random.Random) -> None:
    """One record in another's place."""
    files = _files(shop)
    if len(files) > 1:
        one, other = dice.sample(files, 2)
        other.write_bytes(one.read_bytes())


def _copied(shop: Shop, outside: Path, dice: random.Random) -> None:
    """A run, an outcome or a case there twice, as programs that mirror drives leave them."""
    found = [p for p in shop.cases_folder.rglob("*") if p.is_dir() and not p.is_symlink()]
    if found:
        one = dice.choice(found)
        name = dice.choice((f"{one.name} (copy)", "0002", "0007", "99999"))
        if not os.path.lexists(one.with_name(name)):
            shutil.copytree(one, one.with_name(name), symlinks=True, ignore=_no_plain_files)


def _no_plain_files(folder: str, names: list[str]) -> list[str]:
    """What cannot be copied at all, or would fill the disk."""
    found = [(name, (Path(folder) / name).lstat()) for name in names]
    plain = (stat.S_IFREG, stat.S_IFDIR, stat.S_IFLNK)
    return [n for n, s in found if stat.S_IFMT(s.st_mode) not in plain or s.st_size > 1 << 20]


def _dated(shop: Shop, outside: Path, dice: random.Random) -> None:
    found = [p for p in shop.root.rglob("*") if not p.is_symlink()]
    when = dice.choice((-(2**31), 0, 2**32, 2**34 - 1))
    if found:
        os.utime(dice.choice(found), (when, when))


def _temporary(shop: Shop, outside: Path, dice: random.Random) -> None:
    """Links under names that temporary files had or may have."""
    for name in ("case.json", "summary.json", "report.html"):
        for number in (os.getpid(), 1, 4711):
            link = drives.first(shop).path / f".{name}.{number}.new"
            if not os.path.lexists(link) and link.parent.is_dir():
                link.symlink_to(outside / "secret")


def _files(shop: Shop) -> list[Path]:
    return sorted(p for p in shop.root.rglob("*") if p.is_file() and not p.is_symlink()
                  and p.stat().st_size < 1 << 20)  # fmt: skip


ATTACKS: Final[tuple[Attack, ...]] = (
    *(_planted, _linked, _named, _changed, _changed, _changed, _scrambled, _moved),
    *(_dated, _temporary, _copied),
)


def attack(template: Path, scratch: Path, dice: random.Random) -> None:
    """One to three attacks on a fresh copy of a drive, then what a bench does with it.

    Raises Broken, and whatever a command raised.
    """
    for name in ("drive", "outside", "cache"):
        shutil.rmtree(scratch / name, ignore_errors=True)
    outside = scratch / "outside"
    outside.mkdir()
    (outside / "secret").write_text(SECRET)
    shutil.copytree(template, scratch / "drive")
    shop = Shop(scratch / "drive")
    for one in dice.choices(ATTACKS, k=dice.choice((1, 1, 2, 3))):
        with contextlib.suppress(OSError):  # one attack may bar the way of the next
            one(shop, outside, dice)
    _hold(shop, outside, scratch, dice)


def _hold(shop: Shop, outside: Path, scratch: Path, dice: random.Random) -> None:
    before, sound = _contents(outside), _sound(shop)
    os.environ["XDG_CACHE_HOME"] = str(scratch / "cache")
    for words in drives.asked(shop, scratch, dice):
        status, out, err = drives.command(*words)
        if status not in (0, 1, 2, 3):
            raise Broken(f"status {status} of {words}")
        if SECRET in out + err or "Traceback" in err:
            raise Broken(f"{words} said {err[-200:]}")
    openings.find(shop.cases_folder, MACHINE, NEXT)
    if _contents(outside) != before:
        raise Broken("something outside the drive was changed")
    lost = {path for path, held in sound.items() if path.read_bytes() != held}
    if lost:
        raise Broken(f"records changed: {sorted(map(str, lost))}")


def _sound(shop: Shop) -> dict[Path, bytes]:
    """Every run that could be read before the commands; each must stand as it is afterwards."""
    found: dict[Path, bytes] = {}
    try:
        entries = shop.entries()
    except ShopError:
        return found
    for entry in entries:
        kept = CaseFolder(Path(entry.path))
        if entry.case is not None:
            for run in kept.load().runs:
                file = kept.run_file(run.number)
                found[file] = file.read_bytes()
    return found


def _contents(folder: Path) -> dict[str, bytes]:
    return {
        str(p.relative_to(folder)): p.read_bytes()
        for p in folder.rglob("*")
        if p.is_file() and not p.is_symlink() and p.stat().st_size < 1 << 20
    }
