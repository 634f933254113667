"""Files written whole or not at all: a temporary file beside the target, flushed to the disk, then renamed.

The temporary name says which process writes it. What a process that was killed left half written is swept away when
the same target is written again.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import tempfile
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from .errors import InputError
from .systems import FULL, alive, born, host, link, name_trouble, own_folder, signals_held, sync_folder

#: In the name of every temporary file, before its ending.
MARK = "writing"
#: How folders for what is only needed meanwhile begin.
_WORK = "drydown-"
#: Most letters of the target's name that the temporary name repeats: names are at most 255 bytes.
_LETTERS = 40


#: Temporary files of this process, done or not.
_PARTS: deque[Path] = deque(maxlen=1000)


@cache
def _machine() -> str:
    return hashlib.sha256(host().encode()).hexdigest()[:6]


def _who() -> str:
    """Return what names this process: machine, number and birth."""
    pid = os.getpid()
    return f"{_machine()}-{pid}-{born(pid).replace('.', '_')}"


def _stem(path: Path) -> str:
    """Return the beginning of the temporary names of a target."""
    if len(path.name.encode()) <= _LETTERS:
        return f".{path.name}."
    return f".{path.name[:8]}{hashlib.sha256(path.name.encode()).hexdigest()[:12]}."


def beside(path: Path) -> Path:
    """Return a name for a temporary file beside a target, with its ending; what others left half written is swept."""
    sweep(path)
    part = path.with_name(
        f"{_stem(path)}{_who()}-{os.urandom(6).hex()}.{MARK}{path.suffix if len(path.suffix) < 12 else ''}"
    )
    _PARTS.append(part)
    return part


def drop_parts() -> None:
    """Remove all that this process has half written, for it is about to end."""
    for part in _PARTS:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def sweep(path: Path) -> None:
    """Remove what processes of this machine that are gone left half written of a target."""
    with contextlib.suppress(OSError):
        for name in os.listdir(path.parent):
            if name.startswith(_stem(path)) and _forsaken(name[len(_stem(path)) :]):
                path.with_name(name).unlink(missing_ok=True)


def _forsaken(rest: str) -> bool:
    """Return whether the rest of a temporary name is that of a process of this machine that is gone."""
    who, dot, mark = rest.partition(".")
    return bool(dot) and mark.partition(".")[0] == MARK and _gone(who)


def _gone(who: str) -> bool:
    """Return whether machine, process, birth and a random word name a process of this machine that is gone."""
    parts = who.split("-")
    if len(parts) != 4 or not parts[1].isdigit():
        return False
    machine, pid, since, _ = parts
    return machine == _machine() and not (alive(int(pid)) and born(int(pid)).replace(".", "_") == since)


@contextlib.contextmanager
def work_folder() -> Iterator[Path]:
    """Give a folder for what is only needed meanwhile, of this user alone; what killed ones left is swept."""
    top = Path(tempfile.gettempdir())
    with contextlib.suppress(OSError):
        for name in os.listdir(top):
            if name.startswith(_WORK) and _gone(name[len(_WORK) :]) and own_folder(top / name):
                shutil.rmtree(top / name, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=f"{_WORK}{_who()}-", ignore_cleanup_errors=True) as made:
        yield Path(made)


def settle(part: Path, path: Path) -> None:
    """Flush a temporary file to the disk and give it the name of its target."""
    with part.open("rb+") as stream:
        os.fsync(stream.fileno())
    os.replace(part, path)
    sync_folder(path.parent)


def write_whole(path: Path, write: Callable[[Path], Any]) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : Path
    write : callable
        Takes the name of the temporary file and writes it.

    Raises
    ------
    OSError
        Naming the target, in plain words where the disk is full; nothing is left, what was there stays.
    """
    part = beside(path)
    try:
        with signals_held():
            write(part)
            settle(part, path)
    except (OSError, RuntimeError) as error:
        raise not_written(error, path) from error
    finally:
        part.unlink(missing_ok=True)


def write_bytes(path: Path, data: bytes | memoryview) -> None:
    """Write bytes whole or not at all."""
    write_whole(path, lambda part: part.write_bytes(data))


def write_text(path: Path, text: str) -> None:
    """Write a text whole or not at all, in UTF-8, with the ends of lines as they stand in it."""
    write_bytes(path, text.encode())


def new_text(path: Path, text: str) -> None:
    """Write a text under a name that is not taken, whole or not at all.

    Raises
    ------
    InputError
        There is a file of that name, or the name cannot be kept.
    OSError
        As `write_whole`.
    """
    if trouble := name_trouble(path.name):
        raise InputError(f"{trouble}; give another name", str(path))
    taken = InputError("is there already and stays as it is; give another name", str(path))
    if os.path.lexists(path):
        raise taken
    part = beside(path)
    try:
        part.write_bytes(text.encode())
        with part.open("rb+") as stream:
            os.fsync(stream.fileno())
        try:
            link(part, path)
        except FileExistsError:
            raise taken from None
        except NotImplementedError:  # no links here; two at the same moment are not told apart
            os.replace(part, path)
        sync_folder(path.parent)
    except OSError as error:
        raise not_written(error, path) from error
    finally:
        part.unlink(missing_ok=True)


def not_written(error: Exception, path: Path) -> OSError:
    """Return an error of writing that says in plain words what is wrong and what is left.

    A library that writes for us may hide a full disk behind another error, so the folder is asked.
    """
    number = error.errno if isinstance(error, OSError) else None
    if number in FULL or full(path):
        return OSError(number or 0, "the disk is full; it was not written, what is there stays", str(path))
    said = (error.strerror if isinstance(error, OSError) else None) or str(error)
    return OSError(number or 0, f"{said}; it was not written, what is there stays", str(path))


def full(path: Path) -> bool:
    """Return whether no file of some size can be written beside a path for want of room."""
    probe = beside(path)
    try:
        probe.write_bytes(b"\0" * 65536)
    except OSError as error:
        return error.errno in FULL
    finally:
        with contextlib.suppress(OSError):
            probe.unlink(missing_ok=True)
    return False


def can_write(path: Path) -> str:
    """Return why a file cannot be written in the folder of a path, in words; empty where it can. Nothing is left."""
    probe = beside(path)  # named like a part of it: where this process is killed here, the next one sweeps it away
    try:
        probe.write_bytes(b"\0" * 4096)
    except OSError as error:
        if error.errno in FULL:
            return "the disk is full; make room"
        return f"the folder {path.parent} cannot be written to ({error.strerror}); name another"
    finally:
        with contextlib.suppress(OSError):
            probe.unlink(missing_ok=True)
    return ""


def keep_apart(output: Path, given: Iterable[tuple[str, Path]], where: str) -> None:
    """Refuse an output that is one of the files given.

    Parameters
    ----------
    output : Path
    given : iterable of (str, Path)
        What each file is, in words, and where it is. A folder stands for all in it.
    where : str
        For the error.

    Raises
    ------
    InputError
    """
    target = Path(os.path.realpath(output))
    for what, path in given:
        real = Path(os.path.realpath(path))
        same = target == real or (real.is_dir() and target.is_relative_to(real))
        if not same and output.exists() and path.exists():
            same = os.path.samefile(output, path)  # a second name, or letters that the system takes for the same
        if same:
            raise InputError(f"that is {what}, and would be lost; give another name", where)
