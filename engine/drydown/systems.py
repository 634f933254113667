"""What differs between operating systems, in one place: processes, folders, rights, file names.

Everything else asks here; a test of the house forbids such calls elsewhere. It knows nothing of the engine.
"""

from __future__ import annotations

import errno
import os
import stat
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

#: Errors of writing that mean that there is no room: the disk, the quota, the limit on files.
FULL = {getattr(errno, name) for name in ("ENOSPC", "EDQUOT", "EFBIG") if hasattr(errno, name)}
#: How far a thread gives way to others, from 0, not at all, to 19.
CALM = 10
#: Settings that numba and matplotlib read from the current folder.
SETTINGS = (".numba_config.yaml", "matplotlibrc")
#: Names that Windows gives to devices, with any ending.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{d}{i}" for d in ("com", "lpt") for i in range(1, 10))}


def alive(pid: int) -> bool:
    """Return whether a process of this machine still runs; one that has ended and was not taken note of does not."""
    import psutil

    try:
        return psutil.Process(pid).status() not in (psutil.STATUS_ZOMBIE, psutil.STATUS_DEAD)
    except psutil.NoSuchProcess:
        return False
    except (psutil.Error, OSError, ValueError, OverflowError):
        return psutil.pid_exists(pid) if 0 <= pid < 2**31 else False


def born(pid: int) -> str:
    """Return when a process of this machine began, by a clock that nobody sets; empty where it cannot be known.

    The number of a process may be given to another later; both together name one.
    """
    if sys.platform.startswith("linux"):  # psutil adds the time of day, which may be set back
        try:
            return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[19]
        except (OSError, IndexError):
            return ""
    import psutil

    try:
        return repr(psutil.Process(pid).create_time())
    except (psutil.Error, OSError, ValueError, OverflowError):
        return ""


def host() -> str:
    """Return the name of this machine."""
    import socket

    return socket.gethostname()


def processors() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def free_memory() -> float:
    """Return how much memory of this machine is free [bytes]."""
    import psutil

    return float(psutil.virtual_memory().available)


def calm_thread() -> None:
    """Let this thread, and those that it begins, give way to others, where the system knows threads apart: on Linux."""
    if sys.platform == "linux":
        with suppress(OSError):
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), CALM)


def processor_name() -> str:
    """Return the model of the processor, as well as the system tells it."""
    import platform

    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8", errors="replace").splitlines()
        return next(line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor()


def c_library() -> str:
    """Return the C library, empty where it cannot be known."""
    import platform

    return " ".join(platform.libc_ver()).strip()


def sync_folder(folder: Path) -> None:
    """Flush the names in a folder to the disk, where the system can."""
    if os.name == "nt":  # a folder cannot be opened there
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(handle)
    except OSError:
        pass  # some network file systems refuse it
    finally:
        os.close(handle)


def link(source: Path, target: Path) -> None:
    """Give a file a second name.

    Raises
    ------
    FileExistsError
        The name is taken.
    NotImplementedError
        The file system has no such links.
    """
    try:
        os.link(source, target)
    except FileExistsError:
        raise
    except (OSError, AttributeError) as error:
        raise NotImplementedError(str(error)) from None


def usual_rights(path: Path) -> None:
    """Give a file that was made under a private name the rights that a new file has."""
    if os.name == "nt":
        return
    mask = os.umask(0)
    os.umask(mask)
    path.chmod(0o666 & ~mask)


@contextmanager
def on_signals(acts: Mapping[int, Callable[[int, Any], Any]]) -> Iterator[None]:
    """Call `act(number, frame)` where a signal of that number comes; only in the main thread."""
    import signal
    import threading

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {number: signal.signal(number, act) for number, act in acts.items()}
    try:
        yield
    finally:
        for number, act in before.items():
            signal.signal(number, act)


@contextmanager
def signals_held() -> Iterator[None]:
    """Let what would end this process (SIGTERM, SIGINT) wait until something short is done; only in the main thread.

    An error raised amid the taking of a lock leaves it taken: what writes files would then wait for itself.
    """
    import signal
    import threading

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[tuple[int, Any]] = []
    before = {int(number): signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}
    held = {number: act for number, act in before.items() if callable(act)}
    for number in held:
        signal.signal(number, lambda number, frame: came.append((number, frame)))
    try:
        yield
    finally:
        for number, act in held.items():
            signal.signal(number, act)
        for number, frame in came[:1]:
            held[number](number, frame)


def cache_home() -> Path | None:
    """Return where this user keeps what can be made anew; None where no such place is named.

    A name that is not absolute would fall into the folder of the day, and a home that is the root belongs to nobody.
    """
    if os.name == "nt":
        named = [os.environ.get("LOCALAPPDATA", "")]
    else:
        home = os.environ.get("HOME", "")
        named = [os.environ.get("XDG_CACHE_HOME", ""), os.path.join(home, ".cache") if home.strip("/") else ""]
    for name in named:
        if name and os.path.isabs(name) and Path(name) != Path(Path(name).anchor):
            return Path(name)
    return None


def state_home() -> Path | None:
    """Return where this user keeps what must not be lost between two starts; None where no such place is named."""
    if os.name == "nt":
        return cache_home()
    home = os.environ.get("HOME", "")
    named = (os.environ.get("XDG_STATE_HOME", ""), os.path.join(home, ".local", "state") if home.strip("/") else "")
    found = (Path(n) for n in named if n and os.path.isabs(n) and Path(n) != Path(Path(n).anchor))
    return next(found, None)


def private_folder(folder: Path) -> str:
    """Make a folder that this user alone can enter, or see whether it is one.

    Returns
    -------
    str
        Empty where it is; else why it is not, in words.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if os.name == "nt":  # folders of a profile are its user's own
            return "" if os.access(folder, os.W_OK) else "it cannot be written to"
        real = Path(os.path.realpath(folder))
        own = real.stat()
        if own.st_uid != os.geteuid():
            return "it belongs to another user"
        if own.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
            return "other users may write to it; remove it"
        for above in real.parents:
            about = above.stat()
            if about.st_uid not in (0, os.geteuid()):
                return f"{above} belongs to another user"
            if about.st_mode & stat.S_IWOTH and not about.st_mode & stat.S_ISVTX:
                return f"every user may change {above}"
        if own.st_mode & 0o077:
            real.chmod(0o700)
        return "" if os.access(real, os.W_OK) else "it cannot be written to"
    except OSError as error:
        return f"it cannot be made ({error.strerror})"


def own_folder(path: Path) -> bool:
    """Return whether a name is a folder of this user, and no link."""
    try:
        about = path.lstat()
    except OSError:
        return False
    return stat.S_ISDIR(about.st_mode) and (os.name == "nt" or about.st_uid == os.geteuid())


def planted(folder: Path) -> str:
    """Return the name of a file of settings of the libraries in a folder that another user has put there; else nothing.

    They read such files where they are started, and what stands in them may name what is loaded and run.
    """
    if os.name == "nt":
        return ""
    for name in SETTINGS:
        try:
            if (folder / name).lstat().st_uid not in (0, os.geteuid()):
                return name
        except OSError:
            continue
    return ""


def name_trouble(name: str) -> str:
    """Return why a file of this name cannot be kept on every system, in words; empty where it can.

    Windows takes a colon for a drive or a second stream, drops dots and spaces at the end, has names of devices, and
    knows no control characters.
    """
    if any(ord(letter) < 32 or ord(letter) == 127 for letter in name):
        return "a name holds no control characters"
    if found := sorted(set('<>:"|?*') & set(name)):
        return f"Windows keeps no file with {' '.join(found)} in its name"
    if name != name.rstrip(". "):
        return "Windows drops a dot or a space at the end of a name"
    if name.partition(".")[0].strip().lower() in _DEVICES:
        return f"on Windows '{name.partition('.')[0]}' is a device"
    if len(name.encode()) > 255:
        return "a name has at most 255 letters"
    return ""
