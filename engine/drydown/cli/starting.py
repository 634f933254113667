"""The command `new`: a case file to start from, out of the bundled examples."""

from __future__ import annotations

from pathlib import Path

import click

from ..errors import InputError
from ..examples import EXAMPLES, template
from ..files import new_text


@click.command(short_help="Write a case file to start from.")
@click.argument("path", required=False, type=click.Path(path_type=Path))
@click.option("--example", type=click.Choice(EXAMPLES), default="wall", help="What to start from.")
@click.option("--faces", metavar="DIRECTION", help="Where it faces: south, 'north-west', '225 deg'.")
def new(path: Path | None, example: str, faces: str | None) -> None:
    """Write a commented case file to start from (wall.toml if no PATH is given).

    The library's timber wall, its roof, its slab on the ground, or a brick wall insulated inside.
    """
    path = Path(f"{example}.toml") if path is None else path
    if path.is_dir():
        path = path / f"{example}.toml"
    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} does not exist; make it first", str(path))
    text = template(example, faces)
    new_text(path, text)
    click.echo(f"Written: {path}. Next: drydown dryout {path} --figure {path.with_suffix('.png')}")
