"""The folder of a study: a manifest, one netCDF file for every block of cases, locks and a log.

A block is written whole or not at all: to a temporary name, flushed to the disk, renamed. It carries a hash of its
values, so that damage is found whatever the file system did. The manifest names all that the results depend on; a
store and a study that differ in any of it do not go together.
"""

from __future__ import annotations

import contextlib
import json
import os
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from ..errors import InputError
from ..files import MARK, sweep, write_bytes
from . import made
from .blocks import NETCDF as NETCDF
from .blocks import Block as Block
from .blocks import Damaged as Damaged
from .blocks import decoded, encoded
from .fingerprint import machine, of_data
from .locks import read_holder, stale
from .plan import Study

FORMAT = 1
#: Inputs without which the blocks of a store cannot be read: which cases and which outputs there are.
SHAPE = ("axes", "design", "cases in a block", "outputs")


class Status(NamedTuple):
    """What of a study is there."""

    cases: int
    blocks: int
    done: tuple[int, ...]
    held: dict[int, str]  # block -> who works on it
    stale: tuple[int, ...]
    missing: tuple[int, ...]

    @property
    def complete(self) -> bool:
        """Whether every block is there."""
        return len(self.done) == self.blocks


class Store:
    """The folder of a study.

    Parameters
    ----------
    path : Path
    study : Study
    inputs : dict of str to str, optional
        What `Study.inputs` returned where the study was begun; worked out here by default.

    Attributes
    ----------
    inputs : dict of str to str
        All that the results depend on, as hashes by name; the manifest holds the same.
    hash : str
        Of the inputs; every block carries it.
    """

    def __init__(self, path: str | Path, study: Study, inputs: dict[str, str] | None = None) -> None:
        self.path = Path(path)
        self.study = study
        self.inputs = study.inputs() if inputs is None else inputs
        self.hash = of_data(self.inputs)

    @property
    def manifest(self) -> Path:
        """The manifest file."""
        return self.path / "manifest.json"

    def block_file(self, block: int) -> Path:
        """Return the file of a block.

        Parameters
        ----------
        block : int
            Number of the block.
        """
        return self.path / "blocks" / f"block-{block:06d}.nc"

    def lock_file(self, block: int) -> Path:
        """Return the lock of a block.

        Parameters
        ----------
        block : int
            Number of the block.
        """
        return self.path / "locks" / f"block-{block:06d}.lock"

    def begin(self) -> None:
        """Make the folder, or check that it was begun with the same inputs.

        Raises
        ------
        InputError
            If the study is not the one that the folder was begun with; the message names what changed.
        """
        if not self.manifest.is_file():
            try:
                (self.path / "blocks").mkdir(parents=True, exist_ok=True)
                (self.path / "locks").mkdir(exist_ok=True)
            except OSError as error:
                raise InputError(f"the folder cannot be made ({error.strerror})", str(self.path)) from None
            self._write_manifest()
        identity, before = self._manifest()
        if identity != self.hash:
            raise InputError(
                f"it was begun with other inputs ({changes(before, self.inputs)}); undo the change, or name another "
                "store with --store: results of two studies are not mixed",
                str(self.path),
            )

    def look(self) -> None:
        """Open a folder to read what is in it.

        What was run with an older engine, plugin or file stays readable; what changed since is told in a warning.

        Raises
        ------
        InputError
            If there is no such folder, or its cases are not those of the study.
        """
        if not self.manifest.is_file():
            raise InputError("nothing was run yet; `drydown study run` begins it", str(self.path))
        identity, before = self._manifest()
        differ = [name for name in SHAPE if before.get(name) != self.inputs.get(name)]
        if differ:
            raise InputError(
                f"it holds another study ({', '.join(differ)} changed); undo the change, or name another --store",
                str(self.path),
            )
        if identity != self.hash:
            said = changes(before, self.inputs)
            warnings.warn(f"{self.path}: since these results were begun, {said}; they are as they were", stacklevel=2)
            self.hash = identity
        elif said := self._made_otherwise():
            warnings.warn(f"{self.path}: {said}; these results are as they were", stacklevel=2)

    def _made_otherwise(self) -> str:
        """Return what to say of a case that is made otherwise now, of some; a file of Python is not run for it."""
        if not made.by_function(self.study, unasked=True):
            return ""
        done = self.status().done
        found = []
        for block in (done[i] for i in made.spread(len(done), made.BLOCKS)):
            with contextlib.suppress(Damaged):
                found.append((block, self.read(block)))
        return made.changed(self.study, found, made.LOOK)

    def compare(self, blocks: Mapping[int, Block], others: Sequence[int] = ()) -> None:
        """Make the cases of blocks again, and compare them with those that were run.

        Parameters
        ----------
        blocks : mapping of int to Block
            By number.
        others : sequence of int
            Blocks of which some are read and compared as well.

        Raises
        ------
        InputError
            The function that makes the cases makes another one now; the message names it.
        """
        if not made.by_function(self.study):
            return
        found = dict(blocks)
        for block in (others[i] for i in made.spread(len(others), made.BLOCKS)):
            with contextlib.suppress(Damaged):
                found[block] = self.read(block)
        if said := made.changed(self.study, found.items(), made.RUN):
            raise InputError(f"{said}; undo the change, or name another store with --store", str(self.path))

    def _manifest(self) -> tuple[str, dict[str, Any]]:
        """Return the hash and the inputs that the folder was begun with."""
        try:
            if self.manifest.stat().st_size > 50_000_000:
                raise ValueError
            known = json.loads(self.manifest.read_text(encoding="utf-8"))
            form, inputs = known["format"], dict(known["inputs"])
            identity = str(known["hash"])
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            raise InputError(
                "the manifest is damaged; `drydown study mend` makes it anew from the blocks", str(self.manifest)
            ) from None
        if form != FORMAT:
            raise InputError(
                f"it has the format {form!r}, this version reads {FORMAT}; read it with the version that made it, or "
                "name another --store",
                str(self.manifest),
            )
        return identity, inputs

    def mend(self) -> int:
        """Make a damaged manifest anew where every block that is there was made with the inputs of the study.

        Returns
        -------
        int
            How many blocks vouch for it.

        Raises
        ------
        InputError
            No block is there, or one was made with other inputs; nothing is changed.
        """
        files = sorted((self.path / "blocks").glob("block-*.nc"))
        if not files:
            raise InputError("no block is there to make it anew from; name another --store", str(self.path))
        vouching = 0
        for path in files:
            number = path.name[6:-3]
            try:
                self.read(int(number))
            except (Damaged, ValueError) as error:
                if self._made_with(path) not in ("", self.hash):
                    raise InputError(
                        f"{path.name} was made with other inputs than the study has now; undo the change, or name "
                        "another --store",
                        str(self.path),
                    ) from error
            else:
                vouching += 1
        if not vouching:
            raise InputError("no block of it is whole; name another --store", str(self.path))
        self._write_manifest()
        return vouching

    def _made_with(self, path: Path) -> str:
        """Return the hash of the inputs that a block names, empty where it cannot be read."""
        import netCDF4

        try:
            with NETCDF, netCDF4.Dataset("block.nc", "r", memory=path.read_bytes()) as file:
                return str(file.getncattr("study"))
        except Exception:
            return ""

    def _write_manifest(self) -> None:
        content = {"format": FORMAT, "hash": self.hash, "name": self.study.name, "cases": len(self.study)}
        content |= {"inputs": self.inputs, "begun on (information; each block names its own)": machine()}
        write_bytes(self.manifest, json.dumps(content, indent=1).encode())

    def write(self, block: int, results: Block, marched: Mapping[str, str] | None = None) -> None:
        """Write a block.

        Parameters
        ----------
        block : int
            Number of the block.
        results : Block
            Its values.
        marched : mapping, optional
            What its cases were marched on, where it was not this processor; it stands beside the machine.
        """
        told = {**machine(), **(marched or {})}
        write_bytes(self.block_file(block), encoded(self.study, self.hash, block, results, told))

    def read(self, block: int) -> Block:
        """Read a block and check it whole.

        Parameters
        ----------
        block : int
            Number of the block.

        Raises
        ------
        Damaged
            If it cannot be read, belongs to another study, or its values are not those that were written.
        """
        return decoded(self.block_file(block), self.study, self.hash, block)

    def set_aside(self, block: int) -> Path:
        """Give a damaged block another name, so that it is computed anew, and return that name.

        Parameters
        ----------
        block : int
            Number of the block.
        """
        path = self.block_file(block)
        aside = path.with_name(path.name + ".damaged")
        os.replace(path, aside)
        return aside

    def sweep(self) -> None:
        """Remove what killed processes left half written, where nobody works on the block."""
        for part in (self.path / "blocks").glob(f".block-*.{MARK}*"):
            lock = self.lock_file(int(part.name[7:13]))
            if not lock.exists() or stale(lock):
                part.unlink(missing_ok=True)
        sweep(self.manifest)
        sweep(self.path / "result.nc")

    def has(self, block: int) -> bool:
        """Return whether the file of a block is there.

        Parameters
        ----------
        block : int
            Number of the block.
        """
        return self.block_file(block).is_file()

    def status(self) -> Status:
        """Return what of the study is there, by the names of the files."""
        done, held, old, missing = [], {}, [], []
        for block in range(self.study.blocks):
            lock = self.lock_file(block)
            if self.has(block):
                done.append(block)
            elif lock.exists():
                holder = read_holder(lock)
                if stale(lock):
                    old.append(block)
                else:
                    held[block] = str(holder) if holder else "somebody"
            else:
                missing.append(block)
        return Status(len(self.study), self.study.blocks, tuple(done), held, tuple(old), tuple(missing))

    def note(self, line: str) -> None:
        """Add a line to the log; several processes may, each line stays whole.

        Parameters
        ----------
        line : str
        """
        try:
            # not through a link: whoever may write to the folder could add our lines to any file of ours
            how = os.O_CREAT | os.O_APPEND | os.O_WRONLY | getattr(os, "O_NOFOLLOW", 0)
            handle = os.open(self.path / "log.txt", how, 0o644)
        except OSError:
            return
        try:
            os.write(handle, (" ".join(line.split()) + "\n").encode())
        except OSError:
            pass  # the log is no reason to stop
        finally:
            os.close(handle)


def changes(before: dict[str, Any], after: dict[str, Any]) -> str:
    """Return what differs between the inputs of two studies, in words."""
    said = [f"{name} changed" for name in before if name in after and before[name] != after[name]]
    gone = [name for name in before if name not in after]
    new = [name for name in after if name not in before]
    said += [f"{name} is no longer there" for name in gone] + [f"{name} is new" for name in new]
    return ", ".join(said) or "the manifest says so"
