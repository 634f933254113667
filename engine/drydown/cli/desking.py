"""The command `desk`: the wall made by looking at it, in a browser, on this machine alone."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import click

from ..errors import InputError


@click.command(short_help="Make a wall by looking at it, in a browser.")
@click.argument("case_file", metavar="[CASE.toml]", required=False, type=click.Path(path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Where it is served; by default any free one.")
@click.option("--browser/--no-browser", default=True, help="Open it in the browser (default).")
def desk(case_file: Path | None, port: int, browser: bool) -> None:
    """Open the desk: draw the wall, put the question, see the answer.

    The page is served on this machine alone and needs no connection. Ctrl-C ends it; nothing is lost.
    """
    try:
        from ..desk.opening import opened
        from ..desk.serving import serve, taken_socket
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("starlette", "uvicorn"):
            raise
        raise InputError("pip install 'drydown[desk]' brings it", f"the package {error.name} is missing") from None

    listening = taken_socket(port)
    with suppress(KeyboardInterrupt):  # not always raised: a server may have ended when the signal is passed on to it
        serve(lambda: opened(case_file), listening, click.echo, browser)
    click.echo("The desk is closed; what you made is kept.")
