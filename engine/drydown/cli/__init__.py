"""The command `drydown`: the same verbs from a shell. Heavy imports happen inside the commands."""

from __future__ import annotations

import click

from ..version import __version__
from .benching import bench
from .comparing import compare
from .desking import desk
from .fitting import fit
from .frame import Frame, add_units
from .listing import climates
from .reporting import report
from .running import dryout, run
from .showing import materials
from .starting import new
from .studying import study
from .validating import validate


@click.group(cls=Frame, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, message="drydown %(version)s")
def main() -> None:
    """Does this wall dry, how fast, and to which side?

    Begin with `drydown new wall.toml`, change the file, and ask `drydown dryout wall.toml`.
    """


for _command in (new, run, dryout, compare, report, desk, materials, climates, bench, study, fit, validate):
    main.add_command(_command)
add_units(main)
