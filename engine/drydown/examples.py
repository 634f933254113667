"""The bundled examples: case files to start from."""

from __future__ import annotations

import re

from .errors import InputError
from .toml import one_line, quoted

#: The bundled examples: templates/library_NAME.toml.
EXAMPLES = ("wall", "roof", "slab", "masonry")


def template(example: str, faces: str | None = None) -> str:
    """Return the text of a bundled example, turned to another direction where one is given.

    Raises
    ------
    InputError
        It is no direction, or the example faces nowhere.
    """
    from importlib.resources import files

    text = files("drydown").joinpath(f"templates/library_{example}.toml").read_text(encoding="utf-8")
    if faces is None:
        return text
    from .casefile.values import direction

    direction(faces, "--faces")
    faces = one_line(faces)
    line = re.compile(r'^orientation = "north" *', re.M)
    if not line.search(text):
        raise InputError(f"the example '{example}' faces nowhere; leave it out", "--faces")
    text = line.sub(lambda _: f"orientation = {quoted(faces)}".ljust(32), text, count=1)
    return text.replace('title = "North', f"title = {quoted(faces.capitalize())[:-1]}", 1)
