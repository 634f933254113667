"""What every command shares: errors in one line, exit codes, files written whole, progress on long runs.

Exit codes: 0 done; 2 something given cannot be used; 3 a run could not go on; 130 stopped by the user; 143 ended by
the system.
"""

from __future__ import annotations

import sys
import threading
import time
import warnings
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError, Renamed
from ..files import can_write, keep_apart, write_whole
from ..systems import name_trouble, planted
from ..text import TELL, told
from .ending import Ended, ending_when_told

if TYPE_CHECKING:
    from ..case.case import Case

#: Where a command keeps the units that were asked for.
_UNITS = "drydown.units"
#: Endings of figures that can be written.
FIGURES = (".png", ".pdf", ".svg")


def say(text: str) -> None:
    """Say something about the run, in one line on stderr."""
    click.echo(f"drydown: {' '.join(text.split())}", err=True)


class Stop(click.ClickException):
    """A run could not go on."""

    exit_code = 3


class Stopped(Stop):
    """The user stopped a run, of which something is kept."""

    exit_code = 130


class Frame(click.Group):
    """A group of commands whose errors are one line each."""

    def main(self, *args: Any, **kwargs: Any) -> Any:
        """Run, and leave with an exit code."""
        kwargs["standalone_mode"] = False
        with ending_when_told() as told, warnings.catch_warnings():
            warnings.showwarning = _show_warning
            try:
                _look_round()
                code = super().main(*args, **kwargs)
            except InputError as error:
                say(str(error))
                code = 2
            except click.UsageError as error:
                command = error.ctx.command_path if error.ctx else "drydown"
                say(f"{error.format_message()} (`{command} --help` tells more)")
                code = 2
            except click.ClickException as error:
                say(error.format_message())
                code = error.exit_code
            except OSError as error:
                name = f"{error.filename}: " if error.filename else ""
                say(f"{name}{error.strerror or error}")
                code = 2
            except click.Abort:
                say("stopped; nothing was written")
                code = 130
            except Ended:
                say("ended by the system; nothing was left half written")
                code = 143
            except RecursionError:
                say("something given is nested too deeply; write it flatter")
                code = 2
            except MemoryError:
                say("there is not enough memory for this; a coarser case or a shorter period needs less")
                code = 3
            except Exception:
                # a compiler that is told to end amid its work leaves with an error of its own
                if not (code := told()):
                    raise
                say("ended by the system; nothing was left half written" if code == 143 else "stopped")
        sys.exit(code if isinstance(code, int) else 0)


def _look_round() -> None:
    """Raise InputError where another user has put settings of the libraries into the current folder."""
    with suppress(OSError):  # a current folder that is gone
        if name := planted(Path.cwd()):
            raise InputError(
                "another user put it into this folder, and libraries would follow it; go to a folder of your own", name
            )


def _show_warning(
    message: Warning | str,
    category: type[Warning],
    filename: str,
    lineno: int,
    file: Any = None,
    line: str | None = None,
) -> None:
    """Show a warning to the user; what concerns developers of libraries alone is left out."""
    developers = issubclass(category, DeprecationWarning | PendingDeprecationWarning | FutureWarning)
    if not developers or issubclass(category, Renamed):
        say(f"warning: {message}")


@contextmanager
def of_case(path: Path) -> Iterator[None]:
    """Put the case file in front of an error that does not name it."""
    try:
        yield
    except InputError as error:
        if error.where.startswith(str(path)):
            raise
        raise error.at(str(path)) from None


def check_output(path: Path | None, suffixes: tuple[str, ...], option: str) -> None:
    """Raise InputError unless a file can be written there, before anything is run."""
    if path is None:
        return
    where = f"{option} {path}"
    if path.suffix.lower() not in suffixes:
        raise InputError(f"the name must end in {' or '.join(suffixes)}, such as {path.stem}{suffixes[0]}", where)
    if path.is_dir():
        raise InputError("that is a folder; name a file in it", where)
    if path.exists() and not path.is_file():
        raise InputError("that is no plain file, but a device or a pipe; name a file", where)
    if trouble := name_trouble(path.name):
        raise InputError(f"{trouble}; give another name", where)
    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} does not exist; make it first", where)
    if trouble := can_write(path):
        raise InputError(trouble, where)


def keep_inputs(outputs: Mapping[str, Path | None], given: Iterable[tuple[str, Path]]) -> None:
    """Raise InputError where two outputs are one file, or an output is something given.

    Parameters
    ----------
    outputs : mapping of str to Path
        By option.
    given : iterable of (str, Path)
        What is read, in words, and where it is.
    """
    taken = list(given)
    for option, path in outputs.items():
        if path is not None:
            keep_apart(path, taken, f"{option} {path}")
            taken.append((f"what {option} writes", path))


def write_data(found: Any, output: Path | None) -> None:
    """Write a Dataset as netCDF where a name is given."""
    if output is not None:
        write_whole(output, lambda part: found.to_netcdf(part, engine="netcdf4"))


def write_figure(drawn: Any, figure: Path) -> None:
    """Write a matplotlib Figure, in the units that were asked for."""
    tell = TELL.get()
    drawn = drawn if tell is None else tell.figure(drawn)
    write_whole(figure, lambda part: drawn.savefig(part, dpi=150))


def say_written(*paths: Path | None) -> None:
    """Say which files were written."""
    names = [str(path) for path in paths if path is not None]
    if names:
        click.echo(f"Written: {', '.join(names)}")


def tell(text: str) -> None:
    """Say an answer, in the units that were asked for."""
    click.echo(told(text))


def add_units(command: click.Command) -> None:
    """Give a command, and every command below it, the option `--units`, where it has none of its own."""
    if isinstance(command, click.Group):
        for below in command.commands.values():
            add_units(below)
    elif all(p.name != "units" for p in command.params):
        command.params.append(
            click.Option(
                ["--units"],
                type=click.Choice(["metric", "us"], case_sensitive=False),
                expose_value=False,
                callback=_asked,
                help="Units of what is told; by default those that the case file states, else metric.",
            )
        )


def _asked(context: click.Context, _: click.Parameter, word: str | None) -> None:
    if word is not None:
        from ..units import system_of, told_in

        context.meta[_UNITS] = system_of(word)
        context.with_resource(told_in(context.meta[_UNITS]))


def system(word: str) -> Any:
    """Return the system of units of a word behind `--units`."""
    from ..units import system_of

    return system_of(word)


def line_of(document: dict[str, Any], path: Path) -> str:
    """Return the cautions of the line through the wall that a case file states, as a paragraph of its own."""
    from ..casefile.heading import heading_of
    from ..text import paragraph
    from ..wording.lines import caution

    said = caution(heading_of(document, path).line)
    return f"\n{paragraph(said)}" if said else ""


def in_units_of(document: dict[str, Any], path: Path, case: Any = None) -> None:
    """Tell what follows in the units that were asked for, else in those that a case file states.

    Names of layers, films and the case itself keep their letters.
    """
    from ..casefile.heading import heading_of
    from ..units import told_in

    context = click.get_current_context()
    asked = context.meta.get(_UNITS)
    chosen = heading_of(document, path).system if asked is None else asked
    names = [] if case is None else [case.name, *(p.name for p in case.assembly.parts), *_materials(case)]
    context.with_resource(told_in(chosen, names))


def _materials(case: Any) -> list[str]:
    return [p.material.name for p in case.assembly.parts if hasattr(p, "material")]


#: Seconds between two lines of progress where there is no terminal.
SILENCE = 30.0


def say_long(case: Case, runs: int = 1) -> None:
    """Say on stderr that so many runs of a case will take more than minutes, where they will."""
    from ..wording.effort import long_run

    if said := long_run(case, runs):
        say(said)


class Progress:
    """Show on stderr how far a run is, where it takes longer than two seconds.

    On a terminal a bar; elsewhere one line every half minute. Call it with the fraction done.

    Parameters
    ----------
    label : str
    """

    def __init__(self, label: str) -> None:
        self.label = label
        self._bar: Any = None
        self._done = 0.0
        self._lock = threading.Lock()
        self._spoken = time.monotonic()
        self._timer = threading.Timer(2.0, self._show)
        self._timer.daemon = True

    def __enter__(self) -> Progress:
        if sys.stderr.isatty():
            self._timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._timer.cancel()
        with self._lock:
            if self._bar is not None:
                self._bar.stop()
            self._bar = None
            self._done = 1.0

    def __call__(self, fraction: float) -> None:
        """Say how far it is, 0 to 1."""
        with self._lock:
            self._done = fraction
            if self._bar is not None:
                self._bar.update(self._bar.task_ids[0], completed=fraction, total=1.0, description=self.label)
        if not sys.stderr.isatty() and time.monotonic() - self._spoken > SILENCE:
            self._spoken = time.monotonic()
            say(f"{self.label}: {fraction:.0%} done")

    def _show(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

        with self._lock:
            if self._done >= 1.0:
                return
            columns = (
                TextColumn("{task.description}"),
                BarColumn(),
                TaskProgressColumn(),
                TimeRemainingColumn(),
            )
            self._bar = Progress(*columns, console=Console(stderr=True), transient=True)
            # Before the first report the engine may be compiling: once on each machine, about 20 s.
            label = self.label if self._done else "preparing (the first run takes longer)"
            self._bar.add_task(label, total=1.0 if self._done else None, completed=self._done)
            self._bar.start()
