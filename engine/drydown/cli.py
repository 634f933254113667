"""The command `drydown`: the same verbs from a shell. Heavy imports happen inside the commands."""

from __future__ import annotations

from pathlib import Path

import click

from . import __version__
from .cli_bench import bench
from .cli_frame import Frame
from .cli_lists import climates
from .cli_materials import materials
from .cli_run import dryout, run
from .errors import InputError


@click.group(cls=Frame, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, message="drydown %(version)s")
def main() -> None:
    """Does this wall dry, how fast, and to which side?

    Begin with `drydown new wall.toml`, change the file, and ask `drydown dryout wall.toml`.
    """


@main.command(short_help="Write a case file to start from.")
@click.argument("path", default="wall.toml", type=click.Path(path_type=Path))
def new(path: Path) -> None:
    """Write a commented case file to start from (wall.toml if no PATH is given)."""
    from importlib.resources import files

    if path.is_dir():
        path = path / "wall.toml"
    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} does not exist; make it first", str(path))
    text = files("drydown").joinpath("templates/library_wall.toml").read_text(encoding="utf-8")
    try:
        with path.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        raise InputError("is there already and stays as it is; give another name", str(path)) from None
    click.echo(f"Written: {path}. Next: drydown dryout {path} --figure {path.with_suffix('.png')}")


for _command in (run, dryout, materials, climates, bench):
    main.add_command(_command)
