"""``results.drydown``: figures and words on a result itself. Importing this module registers it with xarray.

`drydown.simulate`, `drydown.dryout`, `drydown.compare` and `drydown.open_result` import it. It changes nothing of a
notebook: ``%load_ext drydown`` or `show_in_notebook` asks for that.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import xarray as xr

from .report import display

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from .case.case import Case
    from .case.profile import Profile
    from .run.places import Where


class Plot:
    """Figures of one result; each method returns a matplotlib Figure and takes a `width` [in]."""

    def __init__(self, dataset: xr.Dataset) -> None:
        self._dataset = dataset

    def __call__(self, width: float = 9.0) -> Figure:
        """Draw what tells most: the trial, or humidity by depth and date."""
        return self.trial(width) if "excess" in self._dataset else self.humidity(width)

    def trial(self, width: float = 8.6) -> Figure:
        """Draw water with and without the wetting, and where it went; of a trial. See `figures.trial_figure`."""
        from .figures import trial_figure

        return trial_figure(self._needs("excess", "dryout"), width)

    def humidity(self, width: float = 9.0) -> Figure:
        """Draw relative humidity by depth and date; of a run. See `figures.run_figure`."""
        from .figures import run_figure

        return run_figure(self._state(), width)

    def months(self, width: float = 9.0) -> Figure:
        """Draw relative humidity by depth and month; of a run. See `figures.months_figure`."""
        from .figures import months_figure

        return months_figure(self._state(), width)

    def section(self, when: Sequence[Any] | None = None, width: float = 8.6) -> Figure:
        """Draw the layers to scale with profiles over them; of a run. See `figures.section_figure`."""
        from .figures import section_figure

        return section_figure(self._state(), when, width=width)

    def history(self, place: str | float, width: float = 8.6) -> Figure:
        """Draw humidity and temperature at a place; of a run. See `figures.history_figure`."""
        from .figures import history_figure

        return history_figure(self._state(), place, width)

    def drying(self, width: float = 8.6) -> Figure:
        """Draw what left to each side by month; of a run or a trial. See `figures.drying_figure`."""
        from .figures import drying_figure

        return drying_figure(self._dataset, width)

    def budget(self, width: float = 8.6) -> Figure:
        """Draw the budget of the wall's water; of a run. See `figures.budget_figure`."""
        from .figures import budget_figure

        return budget_figure(self._state(), width)

    def criteria(self, only: Sequence[str] | None = None, width: float = 8.6) -> Figure:
        """Draw criteria of damage over time at their worst places; of a run. See `figures.criteria_figure`."""
        from .figures.courses import follow
        from .figures.criteria import criteria_figure

        dataset = self._state()
        return criteria_figure(follow(dataset, only=only).courses, str(dataset.attrs.get("case", "")), width)

    def _state(self) -> xr.Dataset:
        return self._needs("relative_humidity", "simulate")

    def _needs(self, name: str, verb: str) -> xr.Dataset:
        from .errors import InputError

        if name not in self._dataset:
            raise InputError(f"this figure needs '{name}'; draw it from what drydown.{verb} returns", "plot")
        return self._dataset


@xr.register_dataset_accessor("drydown")
class Accessor:
    """What a result can say about itself."""

    def __init__(self, dataset: xr.Dataset) -> None:
        self._dataset = dataset

    @property
    def plot(self) -> Plot:
        """Figures of this result."""
        return Plot(self._dataset)

    def at(
        self,
        layer: str = "",
        place: Where = "middle",
        *,
        depth: float | None = None,
        face: str = "",
    ) -> xr.Dataset:
        """Return the courses at a place of a layer, at a depth [m] or at a face. See `run.places.at`."""
        from .run.places import at

        return at(self._dataset, layer, place, depth=depth, face=face)

    def on_depths(self, depths: Any) -> xr.Dataset:
        """Return the states on depths of one's own [m], alike for every wall. See `run.places.on_depths`."""
        from .run.places import on_depths

        return on_depths(self._dataset, depths)

    def budget(self) -> xr.Dataset:
        """Return the terms of the budget of the wall's water [kg/m2]. See `run.places.budget`."""
        from .run.places import budget

        return budget(self._dataset)

    def case(self) -> Case:
        """Return the case that this result was computed from. See `run.kept_case.case_of`."""
        from .run.kept_case import case_of

        return case_of(self._dataset)

    def profile(self, time: Any = None) -> Profile:
        """Return the state at a time, by default the end, for another run to start from. See `case.profile.Profile`."""
        from .case.profile import Profile

        return Profile.of(self._dataset, time)

    def digest(self, hours: int | None = None) -> xr.Dataset:
        """Return the run in stretches of time. See `figures.digest`."""
        from .figures import digest

        return digest(self._dataset, hours)

    def report(self, path: Any, case: Case | None = None, trial: xr.Dataset | None = None) -> None:
        """Write the page of this run as one HTML file. See `report.page`."""
        from pathlib import Path

        from .files import write_text
        from .report import page

        write_text(Path(path), page(self._dataset, trial, case))

    def _repr_html_(self) -> str:
        from .report.notebook import result_html

        return result_html(self._dataset)


def show(dataset: xr.Dataset) -> str:
    """Return how a Dataset shows itself in a notebook: a trial or a run of ours with its answer and figure above.

    Parameters
    ----------
    dataset : Dataset
        Any; one that is not ours is shown as xarray shows it.
    """
    plain = str(dataset._repr_html_())
    if not str(dataset.attrs.get("title", "")).startswith("drydown") or "case" not in dataset.attrs:
        return plain
    if "excess" not in dataset and "relative_humidity" not in dataset:
        return plain
    from .report.notebook import result_html

    return f"{result_html(dataset)}<details><summary>The data</summary>{plain}</details>"


def show_in_notebook(shell: Any = None) -> bool:
    """Make results show themselves with their answer and figure in the notebook that runs, if one does.

    Parameters
    ----------
    shell : optional
        The shell of IPython; the running one by default. ``%load_ext drydown`` hands it in.

    Returns
    -------
    bool
        Whether a notebook runs.
    """
    if shell is None:
        shell = getattr(sys.modules.get("IPython"), "get_ipython", lambda: None)()
    if shell is None:
        return False
    shell.display_formatter.formatters["text/html"].for_type(xr.Dataset, show)
    return True


display.register()
