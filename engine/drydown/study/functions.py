"""Functions of the user: what they raise stays with their case; they are sent by value; they may stand in a file."""

from __future__ import annotations

import ast
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ..errors import InputError
from . import identity, sources

if TYPE_CHECKING:
    import xarray as xr


def number_of(function: Callable[[xr.Dataset], float], dataset: xr.Dataset) -> float:
    """Return what a function of the Dataset says, as a number.

    Raises
    ------
    FunctionFailed
        If it fails, or returns something else.
    """
    found = called(function, dataset)
    value = np.asarray(found)
    if value.size != 1 or value.dtype.kind not in "fiub":
        raise FunctionFailed(f"'{getattr(function, '__name__', 'function')}' returned {found!r:.60}, not one number")
    return float(value.reshape(()) if value.ndim == 0 else value.reshape(-1)[0])


class FunctionFailed(RuntimeError):
    """A function of the user failed; its case is kept as failed, whatever it raised."""


def called(function: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """Return what a function of the user returns; what it raises is the fault of its case, not of the machine."""
    try:
        return function(*args, **kwargs)
    except (InputError, MemoryError):
        raise
    except Exception as error:
        name = getattr(function, "__name__", type(function).__name__)
        raise FunctionFailed(f"'{name}' fails: {type(error).__name__}: {' '.join(str(error).split())}") from error


@dataclass(frozen=True)
class FileFunction:
    """A function in a Python file that stands beside the study file; the file may import modules that stand beside it.

    Parameters
    ----------
    path : str
    name : str
    """

    path: str
    name: str

    def look(self) -> None:
        """Read the file, without running it, and see whether it has the function; forget it where it was changed.

        Raises
        ------
        InputError
            If there is no such file, it is no Python, or has no such name.
        """
        path = Path(self.path)
        if not path.is_file():
            raise InputError("there is no such file", f"vary, {path}")
        try:
            tree = ast.parse(path.read_bytes())
        except (SyntaxError, ValueError) as error:
            raise InputError(f"cannot be read as Python ({error})", f"vary, {path}") from None
        names = {getattr(node, "name", "") for node in tree.body}
        for node in ast.walk(tree):
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
                names.add(node.id)
            elif isinstance(node, ast.alias):
                names.add(node.asname or node.name)
        if self.name not in names:
            raise InputError(f"it has no function '{self.name}'", f"vary, {path}")
        self.fingerprint()

    def load(self) -> Callable[..., Any]:
        """Run the file and return its function."""
        import importlib.util

        path = Path(self.path)
        self.look()
        spec = importlib.util.spec_from_file_location(f"drydown_study_{path.stem}", path)
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        with sources.importing_beside(path.parent):
            sys.modules[module.__name__] = module  # dataclasses in it look there
            try:
                spec.loader.exec_module(module)
            except Exception as error:
                raise InputError(f"cannot be imported: {type(error).__name__}: {error}", f"vary, {path}") from error
            finally:
                del sys.modules[module.__name__]
        if not callable(getattr(module, self.name, None)):
            raise InputError(f"it has no function '{self.name}'", f"vary, {path}")
        found: Callable[..., Any] = getattr(module, self.name)
        return found

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Call the function."""
        key = self.path, self.name
        with _LOADING:
            if key not in _LOADED:
                told = sources.of_file(Path(self.path))
                _LOADED[key] = told, self.load()
            function = _LOADED[key][1]
        return function(*args, **kwargs)

    @property
    def loaded(self) -> bool:
        """Whether the file was run in this process."""
        return (self.path, self.name) in _LOADED

    def fingerprint(self) -> str:
        """Return a hash of the file and of the own modules that it imports; forget it where it was changed."""
        told = sources.of_file(Path(self.path))
        with _LOADING:
            if self.loaded and _LOADED[self.path, self.name][0] != told:
                del _LOADED[self.path, self.name]
        return told

    def __setstate__(self, state: dict[str, Any]) -> None:
        """Take what was sent, and forget the file where it was changed since this process ran it."""
        self.__dict__.update(state)
        if self.loaded:
            self.fingerprint()


#: Functions by file and name, with the hash of the file that was run.
_LOADED: dict[tuple[str, str], tuple[str, Callable[..., Any]]] = {}
_LOADING = threading.RLock()


def by_value(thing: Any) -> bytes:
    """Return a thing pickled with the functions and classes of scripts and notebooks in it, as other processes need it.

    What belongs to an installed package travels by name, everything else by value.

    Raises
    ------
    InputError
        If it cannot be sent, naming what stands in the way.
    """
    import cloudpickle

    with _own_modules_by_value():
        try:
            return bytes(cloudpickle.dumps(thing))
        except Exception as error:
            said = " ".join(str(error).split())[:200]
            raise InputError(
                f"it cannot be sent to other processes ({type(error).__name__}: {said})", "study"
            ) from None


@contextmanager
def _own_modules_by_value() -> Iterator[None]:
    """Let cloudpickle take along the modules that no installed package brings."""
    import cloudpickle

    taken = []
    for name, module in list(sys.modules.items()):
        if name == "__main__" or not getattr(module, "__file__", None):
            continue
        if not identity.version_of(name.partition(".")[0]):
            try:
                cloudpickle.register_pickle_by_value(module)
            except Exception:  # a module that is no longer what its name says
                continue
            taken.append(module)
    try:
        yield
    finally:
        for module in taken:
            cloudpickle.unregister_pickle_by_value(module)
