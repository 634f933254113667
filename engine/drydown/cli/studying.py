"""The commands of a study: run its cases here, in parts or on a cluster, gather them and look at them."""

from __future__ import annotations

import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import InputError
from ..files import new_text
from ..text import paragraph, plain, share, span, table
from .frame import FIGURES, Progress, Stop, Stopped, check_output, keep_inputs, say, say_written, write_figure
from .storing import PATH, mend, read, slurm, store_option, study_file_argument, warn_of_python

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..study.plan import Study
    from ..study.running import Summary

_figure = click.option("--figure", metavar="OUT.png", type=PATH, help="Draw it (.png, .pdf, .svg).")
_of = click.option("--of", "names", metavar="OUTPUT", multiple=True, help="Which output; may be given several times.")


@click.group(short_help="Many cases from one description, here or on a cluster.")
def study() -> None:
    """Run many cases that differ in a few things, and see what those things do.

    Begin with `drydown study new`, then `drydown study run STUDY.toml`.
    """


study.add_command(mend)
study.add_command(slurm)


@study.command(short_help="Write a study file to start from.")
@click.argument("path", default="study.toml", type=PATH)
def new(path: Path) -> None:
    """Write a commented study file to start from (study.toml if no PATH is given)."""
    from importlib.resources import files

    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} does not exist; make it first", str(path))
    new_text(path, files("drydown.cli").joinpath("templates/library_study.toml").read_text(encoding="utf-8"))
    click.echo(f"Written: {path}. It varies wall.toml (`drydown new wall.toml`). Next: drydown study run {path}")


def _part(context: click.Context, parameter: click.Parameter, value: str | None) -> tuple[int, int]:
    if value is None:
        return 1, 1
    first, slash, second = value.partition("/")
    if not slash or not all(n.isascii() and n.isdigit() and len(n) < 8 for n in (first, second)):
        raise InputError(f"{value!r}: write it as 7/200, the seventh of 200 parts", "--part")
    return int(first), int(second)


@study.command(short_help="Run what is missing of a study.")
@study_file_argument
@store_option
@click.option("--part", metavar="7/200", callback=_part, help="Only this part, as a job array runs it.")
@click.option("--workers", type=click.IntRange(1, 1024), help="Threads [as many as processors].")
@click.option("--dask", metavar="ADDRESS", help="Run on a dask scheduler, or 'local' for processes of this machine.")
@click.option("--device", type=click.Choice(["cpu", "cuda"]), help="Where cases are marched [what the study says].")
@click.option("--again", is_flag=True, help="Run blocks with failed cases once more.")
def run(
    study_file: Path,
    store: Path | None,
    part: tuple[int, int],
    workers: int | None,
    dask: str | None,
    device: str | None,
    again: bool,
) -> None:
    """Run the cases of a study that are not there yet, and keep the results in a folder.

    It may be stopped at any time and begun again; several may run at once.
    """
    from ..study.running import run as run_study

    made, folder = read(study_file, store)
    warn_of_python(study_file, made)
    seen = sys.stderr.isatty()
    with _client(dask, workers) as client, Progress("running") as bar:

        def tick(fraction: float, text: str) -> None:
            bar.label = text
            bar(fraction)

        try:
            done = run_study(
                made,
                folder,
                part=part,
                workers=workers,
                client=client,
                device=device,
                again=again,
                say=None if seen else say,
                tick=tick if seen else None,
            )
        except KeyboardInterrupt:
            raise Stopped(
                f"stopped; what was finished is kept in {folder}, and the same command goes on from there"
            ) from None
        except ConnectionError as error:
            raise Stop(str(error)) from None
    click.echo(_summary(made, folder, done, part))
    if done.lost:
        first = next(iter(done.lost.values()))
        raise Stop(
            f"{len(done.lost)} blocks ended every dask worker that ran them (the first: {first}); perhaps a case there "
            "needs more memory than a worker has. All others are kept"
        )


@contextmanager
def _client(address: str | None, workers: int | None) -> Iterator[Any]:
    """Give a client of a dask scheduler, or None."""
    if address is None:
        yield None
        return
    try:
        from distributed import Client, LocalCluster
    except ImportError:
        raise InputError("dask is not installed; pip install 'drydown[cluster]'", "--dask") from None
    if address == "local":
        with (
            LocalCluster(
                n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=40
            ) as cluster,
            Client(cluster) as client,
        ):
            yield client
        return
    try:
        client = Client(address, timeout=10)
    except (OSError, ValueError) as error:
        raise InputError(f"no scheduler answers there ({type(error).__name__})", f"--dask {address}") from None
    with client:
        yield client


def _summary(made: Study, folder: Path, done: Summary, part: tuple[int, int]) -> str:
    what = f"{made.name}: " + (f"part {part[0]}/{part[1]}, " if part[1] > 1 else "")
    lines = [what + f"{done.present + done.computed} of {done.cases} cases are there"]
    if done.computed:
        rate = done.computed / max(done.seconds, 1e-9)
        lines[0] += f"; {done.computed} run in {span(round(done.seconds, 1))}, {plain(rate)} per second"
    lines += [f"Set aside and run anew: {text}" for text in done.damaged]
    if done.failed:
        lines.append(f"{done.failed} cases failed; the others are not touched by it. The first:")
        lines += [f"  {text}" for text in done.reasons[:3]]
    if done.held:
        who = sorted(set(done.held.values()))
        lines.append(f"{len(done.held)} blocks are in work by {', '.join(who[:3])}; run again when that has ended")
    if done.present + done.computed == done.cases and part[1] == 1:
        lines.append(f"Next: drydown study gather (results in {folder})")
    return "\n".join(lines)


@study.command(short_help="How much of a study is there.")
@study_file_argument
@store_option
@click.option("--check", is_flag=True, help="Read every block whole, to find damage.")
def status(study_file: Path, store: Path | None, check: bool) -> None:
    """Say which cases of a study are there, in work, missing or failed."""
    from ..study.store import Damaged, Store

    made, folder = read(study_file, store)
    kept = Store(folder, made)
    kept.look()
    found = kept.status()
    cases = sum(len(made.cases_of(b)) for b in found.done)
    click.echo(f"{made.name}: {cases} of {found.cases} cases, {len(found.done)} of {found.blocks} blocks in {folder}")
    if found.held:
        click.echo(f"{len(found.held)} blocks in work by {', '.join(sorted(set(found.held.values()))[:5])}")
    if found.stale:
        click.echo(
            f"{len(found.stale)} blocks were in work when their process ended; `drydown study run` takes them up"
        )
    if not check:
        return
    failed, reasons, damaged = 0, [], []
    for block in found.done:
        try:
            content = kept.read(block)
        except Damaged as error:
            damaged.append(f"block {block}: {error}")
            continue
        failed += int(content.failed.sum())
        reasons += [f"case {c}: {r}" for c, r in zip(made.cases_of(block), content.reason, strict=True) if r]
    click.echo(f"{failed} cases failed, {len(damaged)} blocks are damaged")
    for text in [*reasons[:5], *damaged[:5]]:
        click.echo(f"  {text}")


@study.command(short_help="Bring all results into one netCDF file.")
@study_file_argument
@store_option
@click.option("-o", "--output", metavar="OUT.nc", type=PATH, help="The file [result.nc in the store].")
def gather(study_file: Path, store: Path | None, output: Path | None) -> None:
    """Check all results of a study and write them to one CF netCDF file."""
    from ..study.gathering import gather as gathered

    check_output(output, (".nc",), "--output")
    made, folder = read(study_file, store)
    keep_inputs({"--output": output}, [("the study file", study_file)])
    with gathered(made, folder, output) as data:
        failed = int(data["failed"].values.sum())
    told = f", {failed} of them failed" if failed else ""
    click.echo(f"{len(made)} cases{told}. Written: {output or folder / 'result.nc'}")


def _gathered(study_file: Path, store: Path | None) -> tuple[Study, Any]:
    """Return the study and its Dataset, gathered anew where blocks are younger than the result."""
    from ..study.gathering import gather as gathered

    made, folder = read(study_file, store)
    return made, gathered(made, folder)


@study.command(short_help="What each axis does.")
@study_file_argument
@store_option
@_of
@_figure
def effects(study_file: Path, store: Path | None, names: tuple[str, ...], figure: Path | None) -> None:
    """Say which mean of an output each value of an axis gives; Sobol' indices, elementary effects of their designs."""
    from ..study.sensitivity import elementary_effects, main_effects, sobol_indices

    check_output(figure, FIGURES, "--figure")
    made, data = _gathered(study_file, store)
    with data:
        found = main_effects(data, names or None)
        indices = sobol_indices(data, names or None) if made.design.name.startswith("sobol indices") else None
        moves = elementary_effects(data, names or None) if made.design.name == "morris" else None
    for output in found["output"].values:
        click.echo(f"{made.name}: {output}\n\n{_effects_table(found.sel(output=output))}\n")
        if indices is not None:
            one = indices.sel(output=output)
            used = f"{int(one['used'])} of {indices.attrs['samples']} rows"
            click.echo(f"Sobol' indices from {used}\n\n{_indices_table(one)}\n")
            if "second_order" in one:
                click.echo(f"Of two axes together\n\n{_pairs_table(one)}\n")
        if moves is not None:
            one = moves.sel(output=output)
            click.echo(f"Elementary effects from {int(one['used'])} paths\n\n{_moves_table(one)}\n")
    if figure is not None:
        from ..study.figures import effects_figure

        write_figure(effects_figure(found, made.name), figure)
        say_written(figure)


def _effects_table(one: Any) -> str:
    """Return the means of one output by axis and value, and the shares of the axes."""
    unit = str(one["units"].values)
    rows = [("axis", "value", f"mean [{unit}]" if unit not in ("", "1") else "mean", "without a value")]
    for axis in one["axis"].values:
        for k, label in enumerate(one["label"].sel(axis=axis).values):
            if label:
                mean, lost = (float(one[v].sel(axis=axis)[k]) for v in ("mean", "missing"))
                rows.append((axis, label, plain(mean, 4) if mean == mean else "none", f"{lost:.0%}" if lost else ""))
    shares = []
    for axis in one["axis"].values:
        s, low, high = (min(max(float(one[k].sel(axis=axis)), 0.0), 1.0) for k in ("share", "share_low", "share_high"))
        if s == s:
            within = f" (95 %: {share(low)} to {share(high)})" if high > low else ""
            shares.append(f"{axis} {share(s)}{within}")
    said = paragraph(f"Share of the spread that each axis explains alone: {', '.join(shares) or 'unknown'}.")
    return f"{table(rows, left=2)}\n\n{said}"


def _indices_table(one: Any) -> str:
    """Return Sobol' indices of one output with their intervals."""
    rows: list[tuple[str, ...]] = [("axis", "first order", "95 %", "total", "95 %")]
    kinds = [f"{kind}{end}" for kind in ("first_order", "total_order") for end in ("", "_low", "_high")]
    for axis in one["axis"].values:
        v = {k: float(one[k].sel(axis=axis)) for k in kinds}
        cells: list[str] = []
        for kind in ("first_order", "total_order"):
            cells += [f"{v[kind]:.3f}", f"{v[kind + '_low']:.3f} to {v[kind + '_high']:.3f}"]
        rows.append((axis, *cells))
    return table(rows)


def _pairs_table(one: Any) -> str:
    """Return Sobol' indices of second order of one output with their intervals."""
    rows: list[tuple[str, ...]] = [("axes", "second order", "95 %")]
    axes = [str(a) for a in one["axis"].values]
    for i, axis in enumerate(axes):
        for other in axes[i + 1 :]:
            at = {"axis": axis, "other": other}
            s, low, high = (float(one[f"second_order{end}"].sel(at)) for end in ("", "_low", "_high"))
            rows.append((f"{axis}, {other}", f"{s:.3f}", f"{low:.3f} to {high:.3f}"))
    return table(rows)


def _moves_table(one: Any) -> str:
    """Return the elementary effects of one output with their intervals."""
    unit = str(one["units"].values)
    of = f" [{unit}]" if unit not in ("", "1") else ""
    rows: list[tuple[str, ...]] = [("axis", f"mean size{of}", "95 %", f"mean{of}", f"spread{of}")]
    for axis in one["axis"].values:
        v = {k: plain(float(one[k].sel(axis=axis))) for k in one.data_vars if k != "used"}
        rows.append((axis, v["mean_size"], f"{v['mean_size_low']} to {v['mean_size_high']}", v["mean"], v["spread"]))
    return table(rows)


@study.command("map", short_help="One output over two axes.")
@study_file_argument
@store_option
@click.option("--of", "name", metavar="OUTPUT", required=True, help="Which output.")
@click.option("--over", metavar="AXIS AXIS", nargs=2, required=True, help="Two axes.")
@click.option("--how", type=click.Choice(["mean", "least", "greatest"]), default="mean", show_default=True)
@_figure
def map_(study_file: Path, store: Path | None, name: str, over: tuple[str, str], how: Any, figure: Path | None) -> None:
    """Show one output over two axes, brought together over all others."""
    from ..study.reading import map_over

    check_output(figure, FIGURES, "--figure")
    made, data = _gathered(study_file, store)
    with data:
        found = map_over(data, name, *over, how=how)
    first, second = over
    rows = [(f"{first} \\ {second}", *(str(v) for v in found[second].values))]
    for label, line in zip(found[first].values, found.values, strict=True):
        rows.append((str(label), *(plain(v) if v == v else "none" for v in line)))
    unit = found.attrs.get("units", "")
    click.echo(f"{made.name}: {name}{f' [{unit}]' if unit not in ('', '1') else ''}, {how} of all other axes\n")
    click.echo(table(rows))
    if figure is not None:
        from ..study.figures import map_figure

        write_figure(map_figure(found, made.name), figure)
        click.echo(f"\nWritten: {figure}")


@study.command(short_help="Every case as a line across axes and outputs.")
@study_file_argument
@store_option
@_of
@click.option("--figure", metavar="OUT.png", type=PATH, required=True, help="The figure (.png, .pdf, .svg).")
def lines(study_file: Path, store: Path | None, names: tuple[str, ...], figure: Path) -> None:
    """Draw parallel coordinates: every case a line, coloured by the last output."""
    from ..study.figures import lines_figure

    check_output(figure, FIGURES, "--figure")
    made, data = _gathered(study_file, store)
    with data:
        drawn = lines_figure(data, names or None, made.name)
    write_figure(drawn, figure)
    say_written(figure)


@study.command(short_help="Best and worst cases as case files.")
@study_file_argument
@store_option
@click.option("--by", metavar="OUTPUT", required=True, help="Which output decides; the least is the best.")
@click.option("--largest", is_flag=True, help="The greatest is the best.")
@click.option("--number", type=click.IntRange(1, 100_000), default=3, show_default=True, help="How many of each.")
@click.option("--folder", metavar="FOLDER", type=PATH, default=Path("cases"), show_default=True)
def cases(study_file: Path, store: Path | None, by: str, largest: bool, number: int, folder: Path) -> None:
    """Write the best and the worst cases as case files, to be run one by one."""
    from ..study.reading import best
    from ..study.ready import write_cases

    made, data = _gathered(study_file, store)
    with data:
        good = best(data, by, number, largest)
        bad = [c for c in best(data, by, number + len(good), not largest) if c not in good][:number]
        values = data[by].values
    rows: list[tuple[str, ...]] = [("", "case", by, *(axis.name for axis in made.axes))]
    for word, chosen in (("best", good), ("worst", bad)):
        for c in chosen:
            value = plain(values[c], 4) if values[c] == values[c] else "none"
            rows.append((word, str(c), value, *(str(v) for v in made.point(c).values())))
    written = write_cases(made, [*good, *bad], folder)
    click.echo(
        f"{made.name}\n\n{table(rows, left=1)}\n\nWritten: {written[0].parent}/case-*.toml ({len(written)} files)"
    )
