"""Units that nearly every case names, with what they come to in SI, so that pint need not be loaded for them.

quantity | unit | factor | offset: SI value = factor x value + offset. Each row is what pint finds, to the last digit; a
test holds all of them against it.
"""

from __future__ import annotations

_TABLE = """
thickness | mm | 0.001 | 0.0
thickness | in | 0.0254 | 0.0
thickness | m | 1.0 | 0.0
thickness | cm | 0.01 | 0.0
thickness | ft | 0.30479999999999996 | 0.0
thickness | inch | 0.0254 | 0.0
length | m | 1.0 | 0.0
length | ft | 0.30479999999999996 | 0.0
length | mm | 0.001 | 0.0
length | cm | 0.01 | 0.0
length | in | 0.0254 | 0.0
angle | degree | 1.0 | 0.0
angle | deg | 1.0 | 0.0
temperature | degC | 1.0 | 273.15
temperature | degF | 0.5555555555555429 | 255.37222222222223
temperature | K | 1.0 | 0.0
temperature | C | 1.0 | 273.15
temperature | F | 0.5555555555555429 | 255.37222222222223
temperature | °C | 1.0 | 273.15
temperature_difference | K | 1.0 | 0.0
temperature_difference | delta_degF | 0.5555555555555556 | 0.0
temperature_difference | degC | 1.0 | 0.0
temperature_difference | degF | 0.5555555555555556 | 0.0
humidity | % | 0.01 | 0.0
humidity | percent | 0.01 | 0.0
water_content | kg/m3 | 1.0 | 0.0
water_content | lb/ft3 | 16.01846337396015 | 0.0
water_content | kg m-3 | 1.0 | 0.0
moisture_content | % | 0.01 | 0.0
vapour_pressure | Pa | 1.0 | 0.0
vapour_pressure | inHg | 3386.389 | 0.0
vapour_pressure | hPa | 100.0 | 0.0
vapour_pressure | kPa | 1000.0 | 0.0
suction | Pa | 1.0 | 0.0
suction | psi | 6894.7572931683635 | 0.0
suction | kPa | 1000.0 | 0.0
suction | MPa | 1000000.0 | 0.0
pressure | Pa | 1.0 | 0.0
pressure | inH2O | 249.082 | 0.0
pressure | hPa | 100.0 | 0.0
pressure | kPa | 1000.0 | 0.0
water_mass | kg/m2 | 1.0 | 0.0
water_mass | lb/ft2 | 4.882427636383053 | 0.0
water_mass | kg m-2 | 1.0 | 0.0
water_mass | g/m2 | 0.001 | 0.0
water_mass | l/m2 | 1.0000000000000002 | 0.0
water_mass | L/m2 | 1.0000000000000002 | 0.0
water_mass | litres/m2 | 1.0000000000000002 | 0.0
water_mass | mm | 1.0 | 0.0
moisture_flux | g/(m2 h) | 2.7777777777777776e-07 | 0.0
moisture_flux | lb/(ft2 h) | 0.0013562298989952923 | 0.0
moisture_flux | kg m-2 s-1 | 1.0 | 0.0
heat_flux | W/m2 | 1.0 | 0.0
heat_flux | Btu/(h ft2) | 3.154591185725582 | 0.0
heat_flux | W m-2 | 1.0 | 0.0
energy | MJ/m2 | 1000000.0 | 0.0
energy | Btu/ft2 | 11356.528268612095 | 0.0
energy | J m-2 | 1.0 | 0.0
time | h | 3600.0 | 0.0
time | s | 1.0 | 0.0
time | min | 60.0 | 0.0
time | hours | 3600.0 | 0.0
time | d | 86400.0 | 0.0
time | day | 86400.0 | 0.0
time | days | 86400.0 | 0.0
time | weeks | 604800.0 | 0.0
moisture_rate | kg/day | 1.1574074074074073e-05 | 0.0
moisture_rate | lb/day | 5.249911689814815e-06 | 0.0
moisture_rate | kg s-1 | 1.0 | 0.0
moisture_rate | kg/d | 1.1574074074074073e-05 | 0.0
moisture_rate | l/day | 1.1574074074074075e-05 | 0.0
air_change | 1/h | 0.0002777777777777778 | 0.0
air_change | s-1 | 1.0 | 0.0
air_leakage | m3/(m2 h) | 0.0002777777777777778 | 0.0
air_leakage | ft3/(ft2 min) | 0.0050799999999999994 | 0.0
air_leakage | m s-1 | 1.0 | 0.0
air_leakage | cfm/ft2 | 0.0050799999999999994 | 0.0
volume | m3 | 1.0 | 0.0
volume | ft3 | 0.028316846591999994 | 0.0
area | m2 | 1.0 | 0.0
area | ft2 | 0.09290303999999999 | 0.0
density | kg/m3 | 1.0 | 0.0
density | lb/ft3 | 16.01846337396015 | 0.0
density | kg m-3 | 1.0 | 0.0
heat_capacity | J/(kg K) | 1.0 | 0.0
heat_capacity | Btu/(lb degF) | 4186.800584851107 | 0.0
heat_capacity | J kg-1 K-1 | 1.0 | 0.0
heat_capacity | kJ/(kg K) | 1000.0 | 0.0
conductivity | W/(m K) | 1.0 | 0.0
conductivity | Btu in/(h ft2 degF) | 0.1442279090113736 | 0.0
conductivity | W m-1 K-1 | 1.0 | 0.0
conductivity | W/mK | 1.0 | 0.0
conductivity | mW/(m K) | 0.001 | 0.0
thermal_resistance | m2 K/W | 1.0 | 0.0
thermal_resistance | h ft2 degF/Btu | 0.17611015908160327 | 0.0
thermal_resistance | m2 K W-1 | 1.0 | 0.0
heat_transfer | W/(m2 K) | 1.0 | 0.0
heat_transfer | Btu/(h ft2 degF) | 5.678264134306047 | 0.0
heat_transfer | W m-2 K-1 | 1.0 | 0.0
permeability | ng/(Pa s m) | 1.0000000000000002e-12 | 0.0
permeability | perm in | 1.4532229e-12 | 0.0
permeability | kg m-1 s-1 Pa-1 | 1.0 | 0.0
permeability | kg/(m s Pa) | 1.0 | 0.0
permeance | ng/(Pa s m2) | 1.0000000000000002e-12 | 0.0
permeance | perm | 5.72135e-11 | 0.0
permeance | kg m-2 s-1 Pa-1 | 1.0 | 0.0
permeance | kg/(m2 s Pa) | 1.0 | 0.0
sd | m | 1.0 | 0.0
slope | W m2/(kg K) | 1.0 | 0.0
sd | ft | 0.30479999999999996 | 0.0
absorption | kg/(m2 s^0.5) | 1.0 | 0.0
absorption | kg m-2 s-0.5 | 1.0 | 0.0
absorption | kg/(m2 h^0.5) | 0.016666666666666666 | 0.0
liquid_conductivity | s | 1.0 | 0.0
liquid_diffusivity | m2/s | 1.0 | 0.0
liquid_diffusivity | ft2/s | 0.09290303999999999 | 0.0
liquid_diffusivity | m2 s-1 | 1.0 | 0.0
slope | W m2 kg-1 K-1 | 1.0 | 0.0
fraction | % | 0.01 | 0.0
fraction | percent | 0.01 | 0.0
air_temperature | degC | 1.0 | 273.15
air_temperature | degF | 0.5555555555555429 | 255.37222222222223
air_temperature | K | 1.0 | 0.0
air_temperature | °C | 1.0 | 273.15
air_temperature | C | 1.0 | 273.15
wind_speed | m/s | 1.0 | 0.0
wind_speed | mph | 0.44704 | 0.0
wind_speed | m s-1 | 1.0 | 0.0
wind_speed | km/h | 0.2777777777777778 | 0.0
wind_direction | degree | 1.0 | 0.0
wind_direction | deg | 1.0 | 0.0
rain | kg/(m2 h) | 0.0002777777777777778 | 0.0
rain | lb/(ft2 h) | 0.0013562298989952923 | 0.0
rain | kg m-2 s-1 | 1.0 | 0.0
rain | mm/h | 0.0002777777777777778 | 0.0
short_wave | W/m2 | 1.0 | 0.0
short_wave | Btu/(h ft2) | 3.154591185725582 | 0.0
short_wave | W m-2 | 1.0 | 0.0
long_wave | W/m2 | 1.0 | 0.0
long_wave | Btu/(h ft2) | 3.154591185725582 | 0.0
long_wave | W m-2 | 1.0 | 0.0
"""


def _rows() -> dict[tuple[str, str], tuple[float, float]]:
    found = {}
    for line in _TABLE.strip().splitlines():
        name, unit, factor, offset = (part.strip() for part in line.split("|"))
        found[unit, name] = float(factor), float(offset)
    return found


#: (unit, quantity) -> (factor, offset).
USUAL: dict[tuple[str, str], tuple[float, float]] = _rows()
