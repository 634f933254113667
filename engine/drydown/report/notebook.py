"""How an assembly, a case, a run and a trial show themselves in a notebook: small HTML with its own style."""

from __future__ import annotations

from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING

from ..text import day, plain, span
from ..wording.answer import when_gone, which_way
from .drawing import GROUND, key, section, tile
from .parts import Part, parts_of

if TYPE_CHECKING:
    import xarray as xr

    from ..case.assembly import Assembly
    from ..case.case import Case
    from ..climate.model import Climate
    from ..materials.model import Film, Material


def _style() -> str:
    rules = "".join(f".dd .wall .k-{k}{{background:{g} {tile(k, '#1c2129', 0.5)}}}" for k, g in GROUND.items())
    css = files("drydown.report").joinpath("assets/notebook.css").read_text(encoding="utf-8")
    return f"<style>{css}{rules}</style>"


def _box(title: str, *blocks: str) -> str:
    return f'{_style()}<div class="dd"><h4>{escape(title)}</h4>{"".join(blocks)}</div>'


def _drawn(parts: list[Part], wetted: tuple[str, ...] = ()) -> str:
    ends = '<div class="ends"><span>outside</span><span>inside</span></div>'
    return ends + section(parts, wetted) + key(parts)


def _lines(*sentences: str) -> str:
    return "".join(f"<p>{escape(s).replace('kg/m2', 'kg/m²')}</p>" for s in sentences if s)


def assembly_html(assembly: Assembly) -> str:
    """Return an assembly drawn to scale.

    Parameters
    ----------
    assembly : Assembly
    """
    return _box(assembly.name, _drawn(parts_of(None, assembly)))


def case_html(case: Case) -> str:
    """Return a case: the assembly drawn, the period, the sides and what happens to it.

    Parameters
    ----------
    case : Case
    """
    wettings = [
        f"{plain(w.amount)} kg/m2 of water into {w.layer} on {day(w.start)}, over {span(w.duration)}"
        for w in case.wettings
    ]
    loads = [load.label for load in case.loads]
    sides = f"Outside: {case.outside.describe()}. Inside: {case.inside.describe()}."
    drawn = _drawn(parts_of(None, case.assembly), tuple(w.layer for w in case.wettings))
    return _box(case.name, drawn, _lines(f"{day(case.start)} to {day(case.end)}.", sides, *wettings, *loads))


def entry_html(entry: Material | Film) -> str:
    """Return a material or a film: its values, its curves, where they come from.

    Parameters
    ----------
    entry : Material or Film
    """
    from ..figures.entry import entry_figure
    from .document import inline

    values = []
    if not hasattr(entry, "permeance"):
        values.append(
            f"{plain(entry.density)} kg/m3, {plain(entry.heat_capacity)} J/(kg K), "
            f"full pores hold {plain(entry.saturation)} kg/m3."
        )
    sources = dict.fromkeys(f"{s.authors}{f' ({s.year})' if s.year else ''}, {s.where}" for s in entry.sources)
    known = f"Sources: {'; '.join(sources)}." if sources else "No source is stated."
    tags = f"Tags: {', '.join(entry.tags)}." if entry.tags else ""
    image = f'<img alt="{escape(entry.name)}" src="{inline(entry_figure(entry))}">'
    return _box(entry.name, _lines(*values, tags), image, _lines(known))


def climate_html(climate: Climate) -> str:
    """Return a climate: place, period, what was mended, its figure.

    Parameters
    ----------
    climate : Climate
    """
    from ..figures.climate import climate_figure
    from .document import inline

    where = (
        f"{abs(climate.latitude):.4g}° {'N' if climate.latitude >= 0.0 else 'S'}, {abs(climate.longitude):.4g}° "
        f"{'E' if climate.longitude >= 0.0 else 'W'}, {plain(climate.altitude)} m; UTC{climate.utc_offset:+g} h."
    )
    period = f"{day(climate.start)} to {day(climate.end)}, {len(climate.time)} hours."
    made = "Invented place." if climate.synthetic else ""
    source = f"Source: {climate.source}." if climate.source else ""
    image = (
        f'<img alt="{escape(climate.name)}" src="{inline(climate_figure(climate))}">' if len(climate.time) >= 48 else ""
    )
    return _box(climate.name, _lines(where, period, made), image, _lines(source, *climate.repairs))


def result_html(dataset: xr.Dataset) -> str:
    """Return a run or a trial: its answer and its figure.

    Parameters
    ----------
    dataset : Dataset
        Of `drydown.simulate` or `drydown.dryout`.
    """
    from ..figures import run_figure, trial_figure
    from .document import inline

    title = str(dataset.attrs.get("case", "result"))
    if "excess" in dataset:
        image = inline(trial_figure(dataset))
        words = _lines(when_gone(dataset) + ".", which_way(dataset) + ".")
    else:
        image = inline(run_figure(dataset))
        time = dataset["time"].values
        words = _lines(f"{day(time[0])} to {day(time[-1])}.")
    return _box(title, words, f'<img alt="{escape(title)}" src="{image}">')
