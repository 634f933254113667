"""How an assembly, a case, a run and a trial show themselves in a notebook: small HTML with its own style."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Any

from ..answer import when_gone, which_way
from ..words import day, plain, share, span
from .drawing import GROUND, key, section, tile
from .parts import Part, parts_of

if TYPE_CHECKING:
    import xarray as xr

    from ..assembly import Assembly
    from ..case import Case

_STYLE = """
.dd{font-family:system-ui,sans-serif;font-size:14px;line-height:1.45;color:#1c2129;background:#fbfaf6;padding:12px 16px;max-width:720px;border:1px solid #ddd8cc}
.dd h4{font:600 17px/1.3 Georgia,serif;margin:0 0 6px}.dd p{margin:4px 0}
.dd .wall .marks{position:relative;height:20px;font-size:12px;color:#555b65}.dd .wall .marks span{position:absolute;transform:translateX(-50%)}
.dd .wall .body{display:flex;height:120px;border:solid #1c2129;border-width:0 1.5px}
.dd .wall .body>div{min-width:2px;position:relative;border-right:1px solid rgba(28,33,41,.55)}.dd .wall .body>div:last-child{border-right:0}
.dd .wall .film{position:absolute;top:-5px;bottom:-5px;width:0;border-left:3px double #1c2129;transform:translateX(-2px)}
.dd .wall .drop{position:absolute;left:50%;top:50%;transform:translate(-50%,-50%);width:22px}
.dd .scale,.dd .ends{font-size:12px;color:#555b65;display:flex;justify-content:space-between}
.dd ul.key{columns:2;list-style:none;margin:8px 0 0;padding:0;font-size:13px}.dd .key li{display:flex;gap:6px;padding:1px 0;break-inside:avoid}
.dd .key b{min-width:18px;text-align:center}.dd .soft{color:#555b65}.dd img{max-width:100%;background:#fff}
"""


def _style() -> str:
    rules = "".join(f".dd .wall .k-{k}{{background:{g} {tile(k, '#1c2129', 0.5)}}}" for k, g in GROUND.items())
    return f"<style>{_STYLE}{rules}</style>"


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
    loads = [str(getattr(load, "label", load)) for load in getattr(case, "loads", ())]
    sides = f"Outside: {_side(case.outside)}. Inside: {_side(case.inside)}."
    drawn = _drawn(parts_of(None, case.assembly), tuple(w.layer for w in case.wettings))
    return _box(case.name, drawn, _lines(f"{day(case.start)} to {day(case.end)}.", sides, *wettings, *loads))


def _side(side: Any) -> str:
    climate, model = getattr(side, "climate", None), getattr(side, "model", None)
    if climate is not None:
        return f"weather of {climate.name}"
    if model is not None and hasattr(model, "describe"):
        return str(model.describe())
    if hasattr(side, "humidity") and hasattr(side, "temperature"):
        return f"{plain(side.temperature - 273.15)} °C, {share(side.humidity)}"
    return type(side).__name__


def result_html(dataset: xr.Dataset) -> str:
    """Return a run or a trial: its answer and its figure.

    Parameters
    ----------
    dataset : Dataset
        Of `drydown.simulate` or `drydown.dryout`.
    """
    from ..figures import run_figure, trial_figure
    from .page import inline

    title = str(dataset.attrs.get("case", "result"))
    if "excess" in dataset:
        image = inline(trial_figure(dataset))
        words = _lines(when_gone(dataset) + ".", which_way(dataset) + ".")
    else:
        image = inline(run_figure(dataset))
        time = dataset["time"].values
        words = _lines(f"{day(time[0])} to {day(time[-1])}.")
    return _box(title, words, f'<img alt="{escape(title)}" src="{image}">')
