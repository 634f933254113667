"""drydown: does this wall dry, how fast, and to which side?

The package root holds the plain nouns and the verbs; docs/stability.md says what is public. Everything heavy is
imported when first used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from .lazy import public
from .version import __version__

if TYPE_CHECKING:
    from .accessor import show_in_notebook
    from .case.air_leakage import Leakage, LeakPath
    from .case.assembly import Assembly, Layer
    from .case.case import Case, Initial, Numerics
    from .case.load import Load
    from .case.loads import AirLeak, AirStream, RainShare, VentilatedGap
    from .case.profile import Profile
    from .case.sides import Chamber, Physics
    from .case.wetting import Wetting
    from .casefile import read_case, write_case
    from .casefile.limits import read_limits
    from .casefile.variants import Variant, read_variants
    from .climate.model import Climate
    from .climate.named import weather
    from .climate.weather.files import read_weather, write_weather
    from .criteria import assess
    from .errors import InputError
    from .materials.model import Film, Material, Source
    from .plugins import film, material
    from .run.keep import Keep
    from .run.many import simulate_many
    from .run.opening import open_result
    from .run.simulation import SimulationError, simulate
    from .sides.exposure import Exposure, Outdoor
    from .sides.ground import Ground
    from .sides.indoor import AirConditioned, AnnualSine, FromOutdoor, HumidityClass, Indoor, SurfaceCoefficients
    from .sides.indoor_balance import MoistureBalance
    from .sides.indoor_measured import Measured, read_indoor
    from .trial.calendar import wetting_calendar
    from .trial.compare import compare
    from .trial.dryout import dryout
    from .trial.reserve import drying_reserve

#: Public name to the module that has it; those under TYPE_CHECKING are the same, for type checkers.
_HOME = {
    "AirConditioned": "sides.indoor",
    "AirLeak": "case.loads",
    "AirStream": "case.loads",
    "AnnualSine": "sides.indoor",
    "Assembly": "case.assembly",
    "Case": "case.case",
    "Chamber": "case.sides",
    "Climate": "climate.model",
    "Exposure": "sides.exposure",
    "Film": "materials.model",
    "FromOutdoor": "sides.indoor",
    "Ground": "sides.ground",
    "HumidityClass": "sides.indoor",
    "Indoor": "sides.indoor",
    "Initial": "case.case",
    "InputError": "errors",
    "Keep": "run.keep",
    "Layer": "case.assembly",
    "LeakPath": "case.air_leakage",
    "Leakage": "case.air_leakage",
    "Load": "case.load",
    "Material": "materials.model",
    "Measured": "sides.indoor_measured",
    "MoistureBalance": "sides.indoor_balance",
    "Numerics": "case.case",
    "Outdoor": "sides.exposure",
    "Physics": "case.sides",
    "Profile": "case.profile",
    "RainShare": "case.loads",
    "SimulationError": "run.simulation",
    "Source": "materials.model",
    "SurfaceCoefficients": "sides.indoor",
    "Variant": "casefile.variants",
    "VentilatedGap": "case.loads",
    "Wetting": "case.wetting",
    "assess": "criteria",
    "compare": "trial.compare",
    "drying_reserve": "trial.reserve",
    "dryout": "trial.dryout",
    "film": "plugins",
    "material": "plugins",
    "open_result": "run.opening",
    "read_case": "casefile",
    "read_indoor": "sides.indoor_measured",
    "read_limits": "casefile.limits",
    "read_variants": "casefile.variants",
    "read_weather": "climate.weather.files",
    "show_in_notebook": "accessor",
    "simulate": "run.simulation",
    "simulate_many": "run.many",
    "weather": "climate.named",
    "wetting_calendar": "trial.calendar",
    "write_case": "casefile",
    "write_weather": "climate.weather.files",
}

__all__ = [
    "AirConditioned",
    "AirLeak",
    "AirStream",
    "AnnualSine",
    "Assembly",
    "Case",
    "Chamber",
    "Climate",
    "Exposure",
    "Film",
    "FromOutdoor",
    "Ground",
    "HumidityClass",
    "Indoor",
    "Initial",
    "InputError",
    "Keep",
    "Layer",
    "LeakPath",
    "Leakage",
    "Load",
    "Material",
    "Measured",
    "MoistureBalance",
    "Numerics",
    "Outdoor",
    "Physics",
    "Profile",
    "RainShare",
    "SimulationError",
    "Source",
    "SurfaceCoefficients",
    "Variant",
    "VentilatedGap",
    "Wetting",
    "__version__",
    "assess",
    "compare",
    "drying_reserve",
    "dryout",
    "film",
    "material",
    "open_result",
    "read_case",
    "read_indoor",
    "read_limits",
    "read_variants",
    "read_weather",
    "show_in_notebook",
    "simulate",
    "simulate_many",
    "weather",
    "wetting_calendar",
    "write_case",
    "write_weather",
]

_get, __dir__ = public(__name__, _HOME)

if not TYPE_CHECKING:  # a checker knows the names above and refuses others

    def __getattr__(name):
        """Import a public name or a room when it is first asked for."""
        value = _get(name)
        if name in ("Assembly", "Case", "Climate", "Film", "Material", "film", "material", "weather"):
            # they can show themselves in a notebook
            from .report.display import register

            register()
        elif name in (
            "simulate",
            "simulate_many",
            "dryout",
            "compare",
            "open_result",
        ):  # what they return: ``results.drydown.plot``
            from . import accessor  # noqa: F401
        return value


def load_ipython_extension(shell: Any) -> None:
    """Let results show themselves with their answer in a notebook: ``%load_ext drydown``."""
    from .accessor import show_in_notebook

    show_in_notebook(shell)
