"""The command `new`: a case file to start from, out of the bundled examples."""

from __future__ import annotations

import re
from pathlib import Path

import click

from ..errors import InputError
from ..files import new_text
from ..toml import one_line, quoted

#: The bundled examples: templates/library_NAME.toml.
EXAMPLES = ("wall", "roof", "slab", "masonry")


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


def template(example: str, faces: str | None = None) -> str:
    """Return the text of a bundled example, turned to another direction where one is given."""
    from importlib.resources import files

    text = files("drydown.cli").joinpath(f"templates/library_{example}.toml").read_text(encoding="utf-8")
    if faces is None:
        return text
    from ..casefile.values import direction

    direction(faces, "--faces")
    faces = one_line(faces)
    line = re.compile(r'^orientation = "north" *', re.M)
    if not line.search(text):
        raise InputError(f"the example '{example}' faces nowhere; leave it out", "--faces")
    text = line.sub(lambda _: f"orientation = {quoted(faces)}".ljust(32), text, count=1)
    return text.replace('title = "North', f"title = {quoted(faces.capitalize())[:-1]}", 1)
