"""What may stand in a case file: every section and key in one table, and what installed loads bring.

The keys of a load are its own (`Load.section`). Those of the engine are always there; plugins are asked once a section
is looked for that is not among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from .. import plugins
from ..case.keys import Key
from ..case.load import Load
from ..case.loads import catalogue
from ..materials.model import MouldClass

#: Models of the indoor air by their word in the file.
INDOOR = (
    "constant",
    "normal occupancy",
    "high occupancy",
    "humidity class",
    "simplified",
    "intermediate",
    "annual",
    "air conditioned",
    "balance",
    "measured",
    "chamber",
)
#: Indices by which a severe year is chosen, by their word in the file.
SEVERE = ("driving rain", "little drying", "cold", "warm")
#: Lines through a wall by their word in the file.
LINES = ("clear wall", "stud", "sill", "rim joist", "window corner")
#: Classes of sensitivity to mould by their word in the file.
MOULD = get_args(MouldClass)
#: Soils by their word in the file.
SOILS = ("clay", "sand", "rock")

#: section, and model where it depends on one | key, * where it is needed | what it reads | what it means
_TABLE = """
case | title | text | what the case is called
case | catalogues | texts | catalogue files with materials and films of your own, seen from the case file
case | units | one of metric, us | the units in which its answers are told
case | line | one of @LINES | which line through the wall the layers are; its cautions go with every answer
case | address | text | where it stands, for the head of its sheet
case | builder | text | who builds it, for the head of its sheet
case | date | date | the day of the sheet

climate | name | text | a climate that is installed: `drydown climates` lists them
climate | file | text | an hourly weather file (.epw, .csv, .nc), seen from the case file
climate | years | years | the years of it that are used: 2014 alone, or '2012 to 2016'
climate | severe | text | take one severe year of it, by this index or several: 'cold and little drying'
climate | percentile | number | how severe: 90, the default, is a year that one in ten surpasses
climate | repeat | yes or no | whether its years repeat where the period goes beyond them

outside | model | one of weather, ground, slab, constant | the climate, ground, the ground under a whole slab, a chamber
outside weather | orientation* | direction | where the surface faces: 'north', 'south-west', '225 deg'
outside weather | tilt | angle | '90 deg' is a wall, '0 deg' a flat roof
outside weather | absorptance | fraction | share of the sun that is absorbed: 0.3 light, 0.6 middle, 0.9 dark
outside weather | emissivity | fraction | long-wave emissivity
outside weather | ground_reflectance | fraction | share of the sun that the bare ground throws back
outside weather | snow_reflectance | fraction | the same while snow lies
outside weather | horizon | angle | elevation up to which trees, hills or houses hide the sky all round
outside weather | overhang | length | how deep a roof or balcony reaches out over the wall
outside weather | overhang_height | length | how high it is above the middle of the surface
outside weather | wind_factor | number | wind along the surface over wind at 10 m in the open
outside weather | rain_model | one of open field, hourly index | how driving rain is found from rain and wind
outside weather | rain_exposure | number | open field: 0.7 sheltered, 1.0 medium, 1.3 severe
outside weather | rain_deposition | number | open field: 0.35 below a steep roof, 0.5 a low one, 1 run-down
outside weather | rain_roughness | number | hourly index: roughness coefficient C_R of ISO 15927-3
outside weather | rain_topography | number | hourly index: topography coefficient C_T
outside weather | rain_obstruction | number | hourly index: obstruction factor O
outside weather | rain_wall | number | hourly index: wall factor W
outside weather | snow_below | temperature | air temperature up to which it snows and nothing is taken up
outside weather | roof_shade | one of none, beside, panels | what shades a roof: buildings or trees beside, panels
outside weather | snow_lies | yes or no | whether snow lies on the roof, insulates it and melts there
outside weather | run_off | number | area of glass or the like above that drains onto the surface, over its own
outside weather | splash | fraction | share of the rain on the ground that splashes onto the foot of the wall
outside weather | assumed_cloud | number | tenths of cloud where the weather lacks the long-wave of the sky
outside ground | depth | length | below the open ground
outside ground | mean | temperature | of the ground's surface over the year; of the air by default
outside ground | amplitude | temperature_difference | how far that swings over the year
outside ground | coldest_day | number | day of the year on which it is coldest
outside ground | soil | one of @SOILS | what the ground is, for its thermal diffusivity
outside ground | diffusivity | liquid_diffusivity | thermal diffusivity instead of a soil
outside ground | humidity | humidity | relative humidity of the air in the ground
outside ground | conductance | heat_transfer | of gravel or the like between ground and slab; none: they touch
outside ground | vapour_transfer | permeance | of that layer
outside slab | area* | area | of the floor
outside slab | perimeter* | length | of its edge to the outdoors
outside slab | floor_resistance* | thermal_resistance | of the layers of the slab together
outside slab | wall | thickness | of the outer walls
outside slab | soil | one of @SOILS | what the ground is
outside slab | humidity | humidity | relative humidity of the air in the ground
outside slab | vapour_transfer | permeance | of what lies between the ground and the slab
outside constant | temperature* | temperature | air temperature
outside constant | humidity* | humidity | relative humidity
outside constant | heat_transfer | heat_transfer | heat transfer coefficient, radiation included
outside constant | vapour_transfer | permeance | permeance of the air film at the surface
outside constant | rain | rain | water offered to the surface
outside constant | surface | yes or no | whether the surface itself has this temperature and humidity
outside constant | sealed | yes or no | whether no moisture passes

inside | model | one of @INDOOR | what the indoor air is like
inside @ROOM | surface | one of wall, ceiling, floor | which surface it is, for its air film
inside @ROOM | heat_transfer | heat_transfer | heat transfer coefficient of the surface, radiation included
inside @ROOM | vapour_transfer | permeance | permeance of the air film at the surface
inside constant | temperature* | temperature | air temperature
inside constant | humidity* | humidity | relative humidity
inside normal occupancy | margin | fraction | added to the relative humidity
inside high occupancy | margin | fraction | added to the relative humidity
inside humidity class | class* | count | 1, 2, 3 or 4
inside humidity class | temperature | temperature | air temperature
inside humidity class | summer | temperature | what the room warms to in summer; none: it is held as in winter
inside simplified | cooled | yes or no | whether the room is cooled in summer
inside intermediate | bedrooms | count | of the dwelling, for the moisture that is produced
inside intermediate | production | moisture_rate | moisture that is produced, instead of bedrooms
inside intermediate | volume* | volume | of the air
inside intermediate | construction | one of standard, airtight | how tight the house is: 0.2 or 0.1 air changes an hour
inside intermediate | air_changes | air_change | outdoor air that comes in over the volume, instead
inside annual | temperature | temperature | mean air temperature
inside annual | temperature_amplitude | temperature_difference | how far it swings from the mean
inside annual | humidity | humidity | mean relative humidity
inside annual | humidity_amplitude | fraction | how far it swings from the mean
inside annual | warmest_day | number | day of the year on which both are highest
inside air conditioned | heating | temperature | set point of heating
inside air conditioned | cooling | temperature | set point of cooling
inside air conditioned | humidity_cap | humidity | humidity that the cooling holds
inside air conditioned | excess | vapour_pressure | vapour pressure above that outside
inside balance | bedrooms | count | of the dwelling, for the moisture that is produced
inside balance | production | moisture_rate | moisture that is produced, instead of bedrooms
inside balance | volume* | volume | of the air
inside balance | air_changes | air_change | outdoor air that comes in, over the volume
inside balance | heating | temperature | set point of heating
inside balance | cooling | temperature | set point of cooling, where there is one
inside balance | humidity_cap | humidity | humidity beyond which water is taken out
inside measured | file* | text | hourly indoor air (.csv), seen from the case file
inside measured | repeat | yes or no | whether its years repeat where the period goes beyond them
inside chamber | temperature* | temperature | air temperature
inside chamber | humidity* | humidity | relative humidity
inside chamber | heat_transfer | heat_transfer | heat transfer coefficient, radiation included
inside chamber | vapour_transfer | permeance | permeance of the air film at the surface
inside chamber | rain | rain | water offered to the surface
inside chamber | surface | yes or no | whether the surface itself has this temperature and humidity
inside chamber | sealed | yes or no | whether no moisture passes

period | start* | date | first hour, such as 2021-10-01
period | end | date | last hour, instead of years or days
period | years | count | length in years
period | days | count | length in days

layer | material | text | what it is made of: `drydown materials` lists them
layer | film | text | a membrane, paper or paint instead; it has no thickness
layer | thickness | thickness | of the material
layer | name | text | its own name, where two layers are of one material
layer | cells | count | number of cells; left out, the grid decides
layer | start_humidity | humidity | relative humidity at the start, where it differs from [start]
layer | start_water | as given | water at the start instead: '18 %MC' or '80 kg/m3'
layer | judged | yes or no | false: criteria leave the layer out, such as cladding that is there to be wet
layer | mould_class | one of @MOULD | how sensitive to mould it is, where that differs from its material
layer | critical_saturation | fraction | share of its pores beyond which frost harms it, where a test tells
layer | covered | fraction | share of the area that a film covers, '95 %' where it leaves gaps

wetting | layer* | text | name of the layer that gets wet
wetting | amount* | water_mass | how much water
wetting | date* | date | when it begins
wetting | duration | time | how long it takes
wetting | yearly | yes or no | whether it comes again on that day of every later year
wetting | place | one of whole, outer, inner | all of the layer, or its outer or inner edge
wetting | depth | thickness | how deep that edge goes

profile | depth* | thickness | of a point, from the outer surface; points from outside to inside
profile | temperature* | temperature | at the start, linear between the points in a layer
profile | humidity* | humidity | relative humidity there at the start

start | temperature | temperature | of all layers
start | humidity | humidity | relative humidity of all layers that do not state their own

numerics | tolerance | number | 1 is the default; smaller is tighter and slower
numerics | refine | number | factor on the number of cells
numerics | film_reading | one of integral, mean | how a permeance that varies with humidity is read
numerics | output_every | time | interval of the kept results, whole hours
numerics | max_step | time | longest step
numerics | min_step | time | shortest step
"""


def _sections() -> dict[str, dict[str, Key]]:
    out: dict[str, dict[str, Key]] = {}
    table = _TABLE
    for word, values in (
        ("@INDOOR", INDOOR),
        ("@SEVERE", SEVERE),
        ("@SOILS", SOILS),
        ("@LINES", LINES),
        ("@MOULD", MOULD),
    ):
        table = table.replace(word, ", ".join(values))
    for line in filter(None, table.splitlines()):
        section, name, reads, about = (part.strip() for part in line.split("|"))
        key = Key(name.rstrip("*"), reads, about, name.endswith("*"))
        rooms = [word for word in INDOOR if word != "chamber"] if "@ROOM" in section else [""]
        for room in rooms:
            out.setdefault(section.replace("@ROOM", room), {})[key.name] = key
    return out


_OURS = catalogue()


def loads() -> dict[str, type[Load]]:
    """Return every load by the name of its section: those of the engine, then those of plugins by name."""
    installed = plugins.loads().entries()
    return {**_OURS, **{name: installed[name] for name in sorted(installed) if name not in _OURS}}


def _of_load(name: str, kind: type[Load]) -> dict[str, dict[str, Key]]:
    section = kind.section
    return {name: dict(section.keys), **{f"{name} {model}": dict(keys) for model, keys in section.models.items()}}


class _View(Mapping[str, Any]):
    """Static entries first; those of plugins' loads when a name is not among them, or all are asked for."""

    def __init__(self, static: dict[str, Any], of_load: Any) -> None:
        self._static, self._of_load = static, of_load

    def _whole(self) -> dict[str, Any]:
        outside = {name: kind for name, kind in loads().items() if name not in _OURS}
        return self._static | {k: v for name, kind in outside.items() for k, v in self._of_load(name, kind).items()}

    def __getitem__(self, name: str) -> Any:
        return self._static[name] if name in self._static else self._whole()[name]

    def __contains__(self, name: object) -> bool:
        return name in self._static or name in self._whole()

    def __iter__(self) -> Iterator[str]:
        return iter(self._whole())

    def __len__(self) -> int:
        return len(self._whole())


class _Names(Sequence[str]):
    """Names of the sections that are lists of tables; those of plugins last."""

    _static = ("layer", "wetting", "profile", *_OURS)

    def _whole(self) -> tuple[str, ...]:
        return ("layer", "wetting", "profile", *loads())

    def __getitem__(self, i: Any) -> Any:
        return self._whole()[i]

    def __contains__(self, name: object) -> bool:
        return name in self._static or name in self._whole()

    def __len__(self) -> int:
        return len(self._whole())


def _models(name: str, kind: type[Load]) -> dict[str, tuple[str, str]]:
    return {name: (kind.section.chooser, kind.section.default)} if kind.section.chooser else {}


def _renamed(name: str, kind: type[Load]) -> dict[str, Mapping[str, str]]:
    return {name: kind.section.renamed} if kind.section.renamed else {}


def _ours(of_load: Any) -> dict[str, Any]:
    return {k: v for name, kind in _OURS.items() for k, v in of_load(name, kind).items()}


#: Keys by section; "case" holds those that stand before the first section, "inside constant" those that
#: belong to the model "constant" of the section "inside".
SECTIONS: Mapping[str, dict[str, Key]] = _View(_sections() | _ours(_of_load), _of_load)
#: Sections that stand once, those that are lists of tables, and those written as in a catalogue file.
ONCE = ("climate", "outside", "inside", "period", "start", "numerics")
LISTS: Sequence[str] = _Names()
CATALOGUE = ("material", "film", "source")
#: Key that names the model of a section, and the model where none is named.
MODELS: Mapping[str, tuple[str, str]] = _View(
    {"outside": ("model", "weather"), "inside": ("model", "normal occupancy")} | _ours(_models), _models
)
#: Keys whose field in the inputs has another name.
FIELDS = {
    "orientation": "azimuth",
    "class": "number",
    "rain_exposure": "exposure",
    "rain_deposition": "deposition",
    "rain_roughness": "roughness",
    "rain_topography": "topography",
    "rain_obstruction": "obstruction",
    "rain_wall": "wall",
}
#: Sections that others read: `drydown.criteria.limits`, `drydown.casefile.variants`.
OTHERS = ("limits", "variant")
#: Keys of sections that stand once whose text names a file, seen from the case file.
FILES = ("file",)
#: Most tables of one list: layers, wettings and the like.
MOST = 200
#: Keys that had another name until version 0.1: section, old key, new key. They still work, with a word.
RENAMED: Mapping[str, Mapping[str, str]] = _View({"outside": {"faces": "orientation"}} | _ours(_renamed), _renamed)
