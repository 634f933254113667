"""What may stand in a case file: every section and key in one table."""

from __future__ import annotations

from dataclasses import dataclass

#: Models of the indoor air by their word in the file.
INDOOR = (
    "constant",
    "normal occupancy",
    "high occupancy",
    "humidity class",
    "annual",
    "air conditioned",
    "balance",
    "measured",
    "chamber",
)
#: Indices by which a severe year is chosen, by their word in the file.
SEVERE = ("driving rain", "little drying", "cold", "warm")
#: Soils by their word in the file.
SOILS = ("clay", "sand", "rock")

#: section, and model where it depends on one | key, * where it is needed | what it reads | what it means
_TABLE = """
case | title | text | what the case is called
case | catalogues | texts | catalogue files with materials and films of your own, seen from the case file
case | units | one of metric, us | the units in which its answers are told
case | address | text | where it stands, for the head of its sheet
case | builder | text | who builds it, for the head of its sheet
case | date | date | the day of the sheet

climate | name | text | a climate that is installed: `drydown climates` lists them
climate | file | text | an hourly weather file (.epw, .csv, .nc), seen from the case file
climate | years | years | the years of it that are used: 2014 alone, or '2012 to 2016'
climate | severe | one of @SEVERE | take one severe year of it, by this index
climate | percentile | number | how severe: 90, the default, is a year that one in ten surpasses
climate | repeat | yes or no | whether its years repeat where the period goes beyond them

outside | model | one of weather, ground, constant | the climate, the ground under a slab, or a chamber
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
layer | covered | fraction | share of the area that a film covers, '95 %' where it leaves gaps

wetting | layer* | text | name of the layer that gets wet
wetting | amount* | water_mass | how much water
wetting | date* | date | when it begins
wetting | duration | time | how long it takes
wetting | yearly | yes or no | whether it comes again on that day of every later year
wetting | place | one of whole, outer, inner | all of the layer, or its outer or inner edge
wetting | depth | thickness | how deep that edge goes

ventilated_gap | layer* | text | name of the air layer
ventilated_gap | air_changes | air_change | constant air change
ventilated_gap | side | one of outside, inside | whose air comes in
ventilated_gap | height | length | between the openings; wind and warmth then drive air through it
ventilated_gap | pressure_coefficient | number | difference of wind pressure coefficient between the openings
ventilated_gap | loss_coefficient | number | sum of the pressure losses, on the velocity in the gap
ventilated_gap | slope | angle | of the gap above the horizontal

air_leak | way | one of screening, flow | water left in a layer, or air that flows through the layers
air_leak | q50 | air_leakage | air through a square metre of envelope at 50 Pa
air_leak | n50 | air_change | air change of the house at 50 Pa, instead; with volume and area
air_leak | volume | volume | of the house
air_leak | area | area | of its envelope
air_leak | exponent | number | of the flow: 0.65 where none was measured
air_leak screening | layer* | text | layer in which the leaking air meets its dew point
air_leak screening | place | one of whole, outer, inner | all of the layer, or its outer or inner edge
air_leak screening | depth | thickness | how deep that edge goes
air_leak screening | connected_height | length | height of the air space that is connected inside
air_leak flow | layer | text | ventilated layer in which the path ends; left out, it crosses the whole assembly
air_leak flow | height | length | above the neutral level of the house, below it negative
air_leak flow | shelter | fraction | factor on the wind by what stands around: 1 none
air_leak flow | indoor_coefficient | number | wind pressure coefficient of the inside
air_leak flow | orientation | direction | where the leaking surface faces; that of [outside] by default
air_leak flow | wind_factor | number | as in [outside], where it differs
air_leak flow | fan_pressure | pressure | outside minus inside, positive where fans draw air out of the house

air_stream | points* | points | dates and flows of air: [[2022-01-01, '1e-4 kg/(m2 s)']], positive inward
air_stream | layer | text | ventilated layer in which the path ends; left out, it crosses the whole assembly

rain_share | layer* | text | layer that the water gets to
rain_share | share | fraction | of the driving rain on the surface
rain_share | place | one of whole, outer, inner | all of the layer, or its outer or inner edge
rain_share | depth | thickness | how deep that edge goes

start | temperature | temperature | of all layers
start | humidity | humidity | relative humidity of all layers that do not state their own

numerics | tolerance | number | 1 is the default; smaller is tighter and slower
numerics | refine | number | factor on the number of cells
numerics | film_reading | one of integral, mean | how a permeance that varies with humidity is read
numerics | output_every | time | interval of the kept results, whole hours
numerics | max_step | time | longest step
numerics | min_step | time | shortest step
"""


@dataclass(frozen=True)
class Key:
    """One key of a section: its name, what it reads, what it means, whether it must be there."""

    name: str
    reads: str
    about: str
    needed: bool


def _sections() -> dict[str, dict[str, Key]]:
    out: dict[str, dict[str, Key]] = {}
    table = _TABLE
    for word, values in (("@INDOOR", INDOOR), ("@SEVERE", SEVERE), ("@SOILS", SOILS)):
        table = table.replace(word, ", ".join(values))
    for line in filter(None, table.splitlines()):
        section, name, reads, about = (part.strip() for part in line.split("|"))
        key = Key(name.rstrip("*"), reads, about, name.endswith("*"))
        rooms = [word for word in INDOOR if word != "chamber"] if "@ROOM" in section else [""]
        for room in rooms:
            out.setdefault(section.replace("@ROOM", room), {})[key.name] = key
    return out


#: Keys by section; "case" holds those that stand before the first section, "inside constant" those that
#: belong to the model "constant" of the section "inside".
SECTIONS: dict[str, dict[str, Key]] = _sections()
#: Sections that stand once, those that are lists of tables, and those written as in a catalogue file.
ONCE = ("climate", "outside", "inside", "period", "start", "numerics")
LISTS = ("layer", "wetting", "ventilated_gap", "air_leak", "air_stream", "rain_share")
CATALOGUE = ("material", "film", "source")
#: Key that names the model of a section, and the model where none is named.
MODELS = {
    "outside": ("model", "weather"),
    "inside": ("model", "normal occupancy"),
    "air_leak": ("way", "screening"),
}
#: Keys whose field in the inputs has another name.
FIELDS = {
    "orientation": "azimuth",
    "class": "number",
    "fan_pressure": "mechanical",
    "rain_exposure": "exposure",
    "rain_deposition": "deposition",
    "rain_roughness": "roughness",
    "rain_topography": "topography",
    "rain_obstruction": "obstruction",
    "rain_wall": "wall",
}
#: Keys that had another name until version 0.1: section, old key, new key. They still work, with a word.
RENAMED: dict[str, dict[str, str]] = {"outside": {"faces": "orientation"}, "air_leak": {"faces": "orientation"}}
