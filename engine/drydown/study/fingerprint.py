"""What the results of a study depend on, as hashes by name, so that a change is found and named."""

from __future__ import annotations

import hashlib
import inspect
import json
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any

from ..systems import c_library, processor_name

#: Parts of the engine that only show results, and so do not change them (beginnings of paths).
_READING = (
    *("accessor", "bench", "cli", "figures", "lazy", "report", "testing", "text", "wording"),
    *("casefile/variants", "catalogue/page"),
    *("trial/calendar", "trial/compare", "trial/reserve", "trial/tries", "trial/uncertainty", "trial/watch"),
    *("study/figures", "study/reading", "study/sensitivity", "study/progress", "study/slurm", "study/ready"),
)
_SOURCES = (".py", ".toml", ".csv", ".nc", ".json", ".txt")
_LIBRARIES = ("numpy", "scipy", "numba", "pvlib", "pandas")


def of_bytes(*data: bytes) -> str:
    """Return a hash of bytes."""
    digest = hashlib.sha256()
    for piece in data:
        digest.update(len(piece).to_bytes(8, "little"))
        digest.update(piece)
    return digest.hexdigest()[:32]


def of_text(text: str) -> str:
    """Return a hash of a text."""
    return of_bytes(text.encode())


def of_file(path: Path) -> str:
    """Return a hash of the content of a file."""
    return of_bytes(path.read_bytes())


def of_data(data: Any) -> str:
    """Return a hash of plain data: dicts, lists, texts, numbers, dates."""
    return of_text(json.dumps(data, sort_keys=True, default=str, ensure_ascii=False))


@lru_cache(maxsize=32)
def of_folder(folder: str) -> str:
    """Return a hash of the sources of a package."""
    root = Path(folder)
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        name = path.relative_to(root).as_posix()
        reading = root.name == "drydown" and name.startswith(_READING)
        if path.suffix in _SOURCES and "__pycache__" not in name and not reading:
            digest.update(name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:32]


def of_catalogues(folder: Path) -> str:
    """Return a hash of the catalogue files in a folder, as they are now."""
    return of_bytes(
        *(piece for path in sorted(folder.glob("*.toml")) for piece in (path.name.encode(), path.read_bytes()))
    )


def of_engine() -> dict[str, str]:
    """Return the version and sources of the engine, and the libraries that compute."""
    from importlib.metadata import version

    from ..version import __version__

    out = {"drydown": f"{__version__} {of_folder(str(Path(__file__).parents[1]))}"}
    for name in _LIBRARIES:
        out[name] = version(name)
    return out


@lru_cache(maxsize=1)
def machine() -> dict[str, str]:
    """Return what the bits of a result depend on besides the inputs: processor, compiler, system, C library.

    Kept beside the results and not part of the hash: another machine may go on with a study.
    """
    import platform
    from importlib.metadata import version

    from llvmlite import binding

    return {
        "processor": processor_name() or "unknown",
        "compiled for": f"{binding.get_host_cpu_name()}, {platform.machine()}",
        "compiler": f"numba {version('numba')}, llvmlite {version('llvmlite')}",
        "python": platform.python_version(),
        "system": f"{platform.system()}, {c_library() or 'C library unknown'}",
    }


def of_plugins(group: str, names: Iterable[str]) -> dict[str, str]:
    """Return the plugins of a group that have some of the names, with a hash of their sources.

    Parameters
    ----------
    group : {'materials', 'climates', 'criteria', 'loads'}
    names : iterable of str
    """
    from importlib.metadata import entry_points

    from .. import plugins

    registry = getattr(plugins, group)()
    homes = {registry.home(name) for name in names}
    out: dict[str, str] = {}
    for point in entry_points(group=f"drydown.{group}"):
        if point.name not in homes:
            continue
        source = inspect.getsourcefile(__import__(point.module.partition(".")[0]))
        if source is None:
            continue
        path = Path(source)
        out[f"plugin {point.name} ({group})"] = (
            of_folder(str(path.parent)) if path.stem == "__init__" else of_file(path)
        )
    return out
