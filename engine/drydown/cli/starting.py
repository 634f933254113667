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
@click.option("--keys", is_flag=False, flag_value="", metavar="[NAME]", help="Print what may stand in a case file.")
def new(path: Path | None, example: str, faces: str | None, keys: str | None) -> None:
    """Write a commented case file to start from (wall.toml if no PATH is given).

    The library's timber wall, its roof, its slab on the ground, or a brick wall insulated inside. With --keys nothing
    is written: every key of a case file is printed, or those of a section, or one, such as --keys air_leak.
    """
    if keys is not None:
        from ..casefile.keys_listed import text as keys_of

        click.echo(keys_of(keys.strip("[]")))
        return
    path = Path(f"{example}.toml") if path is None else path
    if path.is_dir():
        path = path / f"{example}.toml"
    if not path.parent.is_dir():
        raise InputError(f"the folder {path.parent} does not exist; make it first", str(path))
    text = template(example, faces)
    new_text(path, text)
    click.echo(f"Written: {path}. Next: drydown dryout {path} --figure {path.with_suffix('.png')}")
