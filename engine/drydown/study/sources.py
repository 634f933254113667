"""Sources of one's own modules: what they hash to, what they import, and how those beside a study file are imported.

A source is told by its compiled code, so that comments and blank lines do not matter. Own is what no installed package
and no Python brings: it has no version that would stand for it.
"""

from __future__ import annotations

import dis
import functools
import hashlib
import importlib.util
import sys
import threading
from collections.abc import Iterator, Sequence, Set
from contextlib import contextmanager
from importlib.machinery import EXTENSION_SUFFIXES, ModuleSpec
from pathlib import Path
from types import CodeType, ModuleType
from typing import Any

#: Endings of files that are modules, in the order in which they are looked for.
_SUFFIXES = (*EXTENSION_SUFFIXES, ".py")
_IMPORTING = threading.RLock()


@functools.cache
def version_of(module: str) -> str:
    """Return the version of the installed package that a module belongs to; empty for a script or a notebook."""
    top = module.partition(".")[0]
    if top in sys.stdlib_module_names and top != "__main__":
        return f"python {sys.version_info[0]}.{sys.version_info[1]}"
    if top in ("drydown", "drydown_materials", "drydown_climates"):
        from ..version import __version__

        return __version__
    return _versions().get(top, "")


@functools.cache
def _versions() -> dict[str, str]:
    """Return the version of every installed package, by the names that it can be imported by."""
    from importlib.metadata import packages_distributions, version

    return {top: version(names[0]) for top, names in packages_distributions().items()}


def is_own(module: Any) -> bool:
    """Return whether the content of a module has to be looked at: it has no version, or is a plugin's, often edited."""
    if not isinstance(module, str):  # classes of compiled libraries may have another thing in its place
        return False
    top = module.partition(".")[0]
    return not version_of(top) or top in _plugins()


@functools.cache
def _plugins() -> frozenset[str]:
    """Return the packages that bring plugins, but for those of this project."""
    from importlib.metadata import entry_points

    groups = [entry_points(group=f"drydown.{g}") for g in ("materials", "climates", "criteria", "loads")]
    tops = {point.module.partition(".")[0] for group in groups for point in group}
    return frozenset(tops - {"drydown", "drydown_materials", "drydown_climates"})


@functools.lru_cache(maxsize=4096)
def bytecode(code: CodeType) -> bytes:
    """Return what a code does, without the names of its file and lines."""
    digest = hashlib.sha256()

    def say(*words: object) -> None:
        for word in words:
            data = word if isinstance(word, bytes) else repr(word).encode()
            digest.update(len(data).to_bytes(8, "little") + data)

    say(code.co_code, code.co_exceptiontable, code.co_flags, code.co_argcount, code.co_posonlyargcount)
    say(code.co_kwonlyargcount, code.co_names, code.co_varnames[: code.co_argcount + code.co_kwonlyargcount])
    say(code.co_cellvars, code.co_freevars)
    for const in code.co_consts:
        say(bytecode(const) if isinstance(const, CodeType) else _constant(const))
    return digest.digest()


def _constant(const: Any) -> str:
    if isinstance(const, Set):
        return f"{type(const).__name__} {sorted(map(repr, const))}"
    if isinstance(const, tuple):
        return f"tuple {[_constant(item) for item in const]}"
    return f"{type(const).__name__} {const!r}"


@functools.lru_cache(maxsize=4096)
def globals_of(code: CodeType) -> frozenset[str]:
    """Return the globals that a code and the codes inside it look up."""
    found = {i.argval for i in dis.get_instructions(code) if i.opname in ("LOAD_GLOBAL", "LOAD_NAME")}
    return frozenset(found.union(*(globals_of(c) for c in code.co_consts if isinstance(c, CodeType))))


@functools.lru_cache(maxsize=4096)
def names_of(code: CodeType) -> frozenset[str]:
    """Return all names that a code and the codes inside it look up, those of attributes too."""
    return frozenset(code.co_names).union(*(names_of(c) for c in code.co_consts if isinstance(c, CodeType)))


@functools.lru_cache(maxsize=4096)
def imports_of(code: CodeType) -> frozenset[str]:
    """Return the modules that a code and the codes inside it import, relative ones with their dots.

    What is imported *from* a package may be a module in it, and is among them.
    """
    found: set[str] = set()
    module = ""
    before: list[Any] = []  # the constants before an import are its level and the names that are taken from it
    for step in dis.get_instructions(code):
        if step.opname == "IMPORT_NAME":
            level = before[-2] if len(before) > 1 and isinstance(before[-2], int) else 0
            module = "." * level + step.argval
            found.add(module)
        elif step.opname == "IMPORT_FROM":
            found.add(f"{module}{'' if module.endswith('.') else '.'}{step.argval}")
        before = [*before[-1:], step.argval if step.opname == "LOAD_CONST" else None]
    return frozenset(found.union(*(imports_of(c) for c in code.co_consts if isinstance(c, CodeType))))


def of_file(path: Path) -> str:
    """Return a hash of a Python file and of all own modules that it imports, however deep; nothing is run."""
    met: dict[str, bytes] = {}
    _visit(path, "", str(path.parent), met)
    return _told(met)


def of_module(module: ModuleType) -> str:
    """Return a hash of the source of an own module and of the own modules that it imports; nothing is run."""
    met: dict[str, bytes] = {}
    spec = getattr(module, "__spec__", None)
    path = getattr(module, "__file__", None) or getattr(spec, "origin", None)
    if path and Path(path).is_file():
        _visit(Path(path), module.__name__, "", met)
    return _told(met)


def of_import(name: str, package: str) -> str:
    """Return a hash of the sources of a module that a function imports, empty for one that is not own or not there.

    Parameters
    ----------
    name : str
        As in `imports_of`.
    package : str
        In which the function stands.
    """
    met: dict[str, bytes] = {}
    _follow(name, package, "", met)
    return _told(met) if met else ""


def _told(met: dict[str, bytes]) -> str:
    digest = hashlib.sha256()
    for name in sorted(met):
        digest.update(name.encode() + b"\0" + met[name])
    return digest.hexdigest()[:32]


def _visit(path: Path, name: str, beside: str, met: dict[str, bytes]) -> None:
    """Add the code of a file under its name as a module, and that of what it imports."""
    if name in met:
        return
    data = path.read_bytes()
    try:
        code = compile(data, path.name, "exec", dont_inherit=True)
    except (SyntaxError, ValueError):  # a compiled module, or one that cannot be read
        met[name] = hashlib.sha256(data).digest()
        return
    met[name] = bytecode(code)
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    for imported in sorted(imports_of(code)):
        _follow(imported, package, beside, met)


def _follow(imported: str, package: str, beside: str, met: dict[str, bytes]) -> None:
    """Add an imported module, with the packages that it stands in, where it is own."""
    if (name := imported.lstrip(".")) != imported:
        stands = package.split(".")[: len(package.split(".")) - (len(imported) - len(name)) + 1]
        if not package or not stands:
            return
        imported = ".".join([*stands, name] if name else stands)
    parts = imported.split(".")
    if not is_own(parts[0]):
        return
    where = [beside, *sys.path] if beside else list(sys.path)
    for i, part in enumerate(parts):
        path = _there(part, where)
        if path is None:
            return
        if path.is_file():
            _visit(path, ".".join(parts[: i + 1]), beside, met)
        if path.stem != "__init__" and path.is_file():
            return
        where = [str(path.parent if path.is_file() else path)]


def _there(name: str, folders: Sequence[str]) -> Path | None:
    """Return the file of a module in the first folder that has it, `__init__.py` of a package, or a folder alone."""
    alone = None
    for folder in map(Path, folders):
        for path in (folder / name / "__init__.py", *(folder / f"{name}{suffix}" for suffix in _SUFFIXES)):
            if path.is_file():
                return path
        if alone is None and (folder / name).is_dir():
            alone = folder / name
    return alone


class _Beside:
    """Finds own modules in a folder, before others."""

    def __init__(self, folder: str) -> None:
        self.folder = folder

    def find_spec(self, name: str, path: Any = None, target: Any = None) -> ModuleSpec | None:
        """Return the module of a name in the folder; those in a package are found as everywhere."""
        del target
        found = _there(name, [self.folder]) if path is None and not version_of(name) else None
        if found is None or not found.is_file():
            return None
        inside = [str(found.parent)] if found.name == "__init__.py" else None
        return importlib.util.spec_from_file_location(name, found, submodule_search_locations=inside)


@contextmanager
def importing_beside(folder: Path) -> Iterator[None]:
    """Let the modules in a folder be imported, and let go of them: a module of that name elsewhere is another one."""
    with _IMPORTING:
        there = {p.stem if p.suffix == ".py" else p.name for p in folder.iterdir() if p.suffix == ".py" or p.is_dir()}
        mine = {name for name in there if name.isidentifier() and not version_of(name) and name != "__main__"}

        def taken() -> dict[str, ModuleType]:
            names = [name for name in sys.modules if name.partition(".")[0] in mine]
            return {name: sys.modules.pop(name) for name in names}

        finder = _Beside(str(folder))
        before = taken()
        sys.meta_path.insert(0, finder)
        try:
            yield
        finally:
            sys.meta_path.remove(finder)
            taken()
            sys.modules.update(before)
