"""Reading and showing values with units."""

import math
import subprocess
import sys

import numpy as np
import pytest
from drydown import quantities
from drydown.errors import InputError
from drydown.quantities import QUANTITIES, attributes, convert, parse, parse_many, show
from hypothesis import given
from hypothesis import strategies as st


@pytest.mark.parametrize(
    ("text", "name", "si"),
    [
        ("5.5 in", "thickness", 0.1397),
        ('5.5"', "thickness", 0.1397),
        ("5 1/2 in", "thickness", 0.1397),
        ("7/16 in", "thickness", 0.0111125),
        ("140 mm", "thickness", 0.14),
        ("6 mil", "thickness", 0.0001524),
        ("2.0 kg/m2", "water_mass", 2.0),
        ("2 lb/ft2", "water_mass", 2 * 0.45359237 / 0.3048**2),
        ("3 h", "time", 10800.0),
        ("20 degC", "temperature", 293.15),
        ("20 °C", "temperature", 293.15),
        ("68 degF", "temperature", 293.15),
        ("68 F", "temperature", 293.15),
        ("-40 degF", "temperature", 233.15),
        ("9 delta_degF", "temperature_difference", 5.0),
        ("80 %", "humidity", 0.8),
        (0.8, "humidity", 0.8),
        ("0.8", "humidity", 0.8),
        ("80 %RH", "humidity", 0.8),
        ("12 %MC", "moisture_content", 0.12),
        ("12 %", "moisture_content", 0.12),
        ("5 %vol", "water_content", 50.0),
        ("60 ng/(s m2 Pa)", "permeance", 60e-12),
        ("2 mm/h", "rain", 2.0 / 3600.0),
        ("2 kg/(m2 h)", "rain", 2.0 / 3600.0),
        ("60 ng/(Pa·s·m²)", "permeance", 60e-12),
        ("0.12 W/mK", "conductivity", 0.12),
        ("8 W/m²K", "heat_transfer", 8.0),
        ("100 µm", "thickness", 1e-4),
        ("1 Btu in/(h ft2 F)", "conductivity", 0.1442279),
        ("R-20", "thermal_resistance", 3.522203),
        ("R20", "thermal_resistance", 3.522203),
        ("RSI 3.5", "thermal_resistance", 3.5),
        ("20 h ft2 F/Btu", "thermal_resistance", 3.522203),
        ("0.004 kg/(m2 s^0.5)", "absorption", 0.004),
        ("0.5 1/h", "air_change", 0.5 / 3600.0),
    ],
)
def test_reads_what_builders_write(text, name, si):
    assert parse(text, name) == pytest.approx(si, rel=1e-6)


def test_moisture_content_becomes_water_content_with_a_density():
    assert parse("12 %MC", "water_content", density=450.0) == pytest.approx(54.0)
    with pytest.raises(InputError, match="needs the dry density"):
        parse("12 %MC", "water_content")


@pytest.mark.parametrize(
    ("given", "name", "says"),
    [
        (140, "thickness", r"thickness 140 has no unit; write it as '140 mm' or '5\.5 in'"),
        ("140", "thickness", "has no unit"),
        (65, "humidity", "write '65 %' or 0.65"),
        ("65", "humidity", "write '65 %' or 0.65"),
        ("120 %", "humidity", "between 0 and 1"),
        (-0.1, "humidity", "between 0 and 1"),
        ("5 furlongz", "thickness", "'furlongz' in '5 furlongz' is no known unit"),
        ("5 kg", "thickness", "'5 kg' is no thickness"),
        ("100 %", "angle", "'100 %' is no angle; write it as '90 deg'"),
        ("5 m", "permeance", "'5 m' is no vapour permeance"),
        ("sd -5 m", "permeance", "is no vapour permeance"),
        ("mu 0", "permeability", "is no vapour permeability"),
        ("R-20", "thickness", "is no thickness"),
        ("5 %MC", "humidity", "is no relative humidity"),
        ("12 %", "water_content", "is no water content"),
        ("140,5 mm", "thickness", "decimal point"),
        ("2 1 mm", "thickness", "is no thickness"),
        ("1/0 in", "thickness", "is no thickness"),
        ("thick", "thickness", "does not begin with a number"),
        ("", "thickness", "does not begin with a number"),
        ("5 m or so", "thickness", "is no known unit"),
        ("1e999 mm", "thickness", "finite"),
        (math.nan, "humidity", "finite"),
        (True, "humidity", "relative humidity is True"),
        (None, "thickness", "thickness is None"),
        ("-300 degC", "temperature", "below absolute zero"),
        ("5 __import__('os')", "thickness", "is no known unit"),
        ("1 m**9e9", "thickness", "is no"),
    ],
)
def test_refuses_in_one_line_that_says_where(given, name, says):
    with pytest.raises(InputError, match=says) as caught:
        parse(given, name, "wall.toml, layer 2")
    assert str(caught.value).startswith("wall.toml, layer 2: ")
    assert "\n" not in str(caught.value)


def test_every_example_in_the_table_can_be_read():
    for q in QUANTITIES.values():
        for part in q.example.split(" or "):
            given = part.strip("'") if part.startswith("'") else float(part)
            assert math.isfinite(parse(given, q.name, density=450.0)), q.name


def test_unknown_quantity_names_the_nearest():
    with pytest.raises(InputError, match="did you mean 'thickness'"):
        parse("1 m", "thicknes")


def test_many_numbers_share_a_unit():
    assert parse_many("10 30 50 %", "humidity") == pytest.approx((0.1, 0.3, 0.5))
    assert parse_many(["1 in", "2 in"], "thickness") == pytest.approx((0.0254, 0.0508))
    assert parse_many(0.5, "humidity") == (0.5,)
    with pytest.raises(InputError, match="no known unit"):
        parse_many("10 30 furlongz", "thickness")


@given(name=st.sampled_from(sorted(QUANTITIES)), value=st.floats(1e-3, 300.0), us=st.booleans())
def test_what_is_shown_can_be_read_back(name, value, us):
    system = "US" if us else "SI"
    q = QUANTITIES[name]
    unit = (q.us if us and q.us else q.si) or q.unit
    if name == "humidity":
        value = value / 300.0
    assert parse(f"{convert(value, name, system)!r} {unit}", name) == pytest.approx(value, rel=1e-9)


def test_show():
    assert show(0.14, "thickness") == "140 mm"
    assert show(0.1397, "thickness", "US") == "5.5 in"
    assert show(293.15, "temperature", "US") == "68 degF"
    assert show(57.2135e-12, "permeance", "US") == "1 perm"
    assert show(0.8, "humidity") == "80 %"
    assert convert(np.array([273.15, 293.15]), "temperature") == pytest.approx([0.0, 20.0])


def test_cf_attributes():
    assert attributes("humidity") == {
        "units": "1",
        "long_name": "relative humidity",
        "standard_name": "relative_humidity",
    }
    assert "standard_name" not in attributes("water_content")


def test_no_unit_library_until_it_is_needed():
    import subprocess
    import sys

    code = (
        "import sys, drydown.quantities, drydown.plugins;print(sorted({'pint', 'scipy', 'pandas'} & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
    assert quantities.PERM == 57.2135e-12


def test_usual_units_are_what_pint_finds():
    from drydown import quantities, usual_units

    assert len(usual_units.USUAL) > 100
    for (unit, name), found in usual_units.USUAL.items():
        # Other versions of pint multiply in another order: the last digit may differ.
        assert quantities._found_scale(unit, name) == pytest.approx(found, rel=4e-16, abs=0.0), (unit, name)


def test_a_usual_case_does_without_pint():
    code = (
        "import sys; from drydown.quantities import parse; "
        "parse('140 mm', 'thickness'), parse('68 degF', 'temperature'), parse('5 1/2 in', 'thickness'); "
        "print('pint' in sys.modules)"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said == "False\n"
