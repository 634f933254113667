"""The command `drydown`: the same verbs from a shell. Heavy imports happen inside the commands."""

from __future__ import annotations

import click

from . import __version__
from .cli_bench import bench
from .cli_compare import compare
from .cli_frame import Frame
from .cli_lists import climates
from .cli_materials import materials
from .cli_new import new
from .cli_report import report
from .cli_run import dryout, run
from .cli_study import study
from .cli_validate import validate


@click.group(cls=Frame, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, message="drydown %(version)s")
def main() -> None:
    """Does this wall dry, how fast, and to which side?

    Begin with `drydown new wall.toml`, change the file, and ask `drydown dryout wall.toml`.
    """


for _command in (new, run, dryout, compare, report, materials, climates, bench, study, validate):
    main.add_command(_command)
