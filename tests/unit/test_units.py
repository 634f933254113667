"""What is said in SI and told in US units; what a builder writes. Factors are those of NIST SP 811."""

import pytest
from drydown.errors import InputError
from drydown.quantities import parse
from drydown.text import paragraph, table, told, told_html
from drydown.units import in_us, system_of, told_in

#: As it is said, and as it is told: 1 lb/ft2 = 4.882428 kg/m2, 1 in = 25.4 mm, 1 perm = 57.2135 ng/(Pa s m2).
SENTENCES = {
    "1.95 kg/m2 of water": "0.4 lb/ft2 of water",
    "1.0 kg/m²": "0.205 lb/ft2",
    "19.1 mm": "3/4 in",
    "184 mm": "7 1/4 in",
    "0.15 mm": "6 mil",
    "30 mm deep": "1.18 in deep",
    "50.7 mm": "2 in",
    "constant 21.1111 degC": "constant 70 °F",
    "20 to 25 degC": "68 to 77 °F",
    "\u22125 °C": "23 °F",
    "0 degC": "32 °F",
    "by 5 K": "by 9 °F",
    "sd 100 m": "0.035 perm",
    "3.0 m3/(m2 h)": "0.164 cfm/ft2",
    "2 g/(m2 d)": "2.9 grains/(ft2 day)",
    "-0.00 kg/m2": "0 lb/ft2",
    "within 184 days of 2022, 80 %": "within 184 days of 2022, 80 %",
    "0.4 lb/ft2, 3/4 in, 70 °F": "0.4 lb/ft2, 3/4 in, 70 °F",
}


@pytest.mark.parametrize(("said", "us"), SENTENCES.items())
def test_a_sentence_is_told_in_us_units(said, us):
    assert in_us(said) == us


@pytest.mark.parametrize("inches", ["1/2", "3/4", "1 1/2", "3 1/2", "5 1/2", "7 1/4", "9 1/4", "11 7/8"])
def test_a_length_on_the_tape_comes_back_as_it_was_written(inches):
    kept = parse(f"{inches} in", "thickness")
    assert in_us(f"{1e3 * kept:.3g} mm") == f"{inches} in"


def test_names_keep_their_letters():
    assert in_us("a wet 'air gap 25 mm', 19.1 mm", ("air gap 25 mm",)) == "a wet 'air gap 25 mm', 3/4 in"


def test_tables_paragraphs_and_pages_follow_and_without_a_choice_nothing_changes():
    rows = [("layer", "water"), ("", "kg/m2"), ("board", "1.95"), ("a * marks", "4.88*")]
    html = "<p style='margin:5 mm' title='19 mm'>19 mm</p>"
    metric = table(rows), paragraph("19 mm"), told_html(html)
    with told_in("US"):
        assert table(rows).split() == ["layer", "water", "lb/ft2", "board", "0.4", "a", "*", "marks", "1*"]
        assert paragraph("19 mm") == told("19 mm") == "3/4 in"
        assert told_html(html) == "<p style='margin:5 mm' title='3/4 in'>3/4 in</p>"
    assert metric == (table(rows), paragraph("19 mm"), told_html(html))
    with told_in("SI"):
        assert told_html(html) == html


def test_the_axes_of_a_figure_have_round_numbers_of_the_unit():
    from matplotlib.figure import Figure

    axes = (figure := Figure()).subplots()
    axes.plot([0, 1], [0.0, 20.0])
    axes.set_title("Temperature [°C]", loc="left")
    with told_in("US"):
        from drydown.text import TELL

        TELL.get().figure(figure)
    assert axes.get_title(loc="left") == "Temperature [°F]"
    labels = [axes.yaxis.get_major_formatter()(x, 0) for x in axes.yaxis.get_majorticklocs()]
    assert all(float(x) % 5 == 0 for x in labels) and {"40", "60"} <= set(labels)


ON_SITE = [
    ("7-1/4 in", "thickness", 0.18415), ('7 1/4"', "thickness", 0.18415), ("5'-6\"", "length", 1.6764),
    ("5 ft 6 in", "length", 1.6764), ("8'", "length", 2.4384), ("6 mils", "thickness", 152.4e-6),
    ("0.06 cfm/ft2", "air_leakage", 0.06 * 0.3048 / 60), ("0.25 CFM50/sf", "air_leakage", 0.25 * 0.3048 / 60),
    ("1 pint/ft2", "water_mass", 5.0932), ("0.1 gallons per square foot", "water_mass", 4.0746),
    ("2 litres per square metre", "water_mass", 2.0), ("2 L/m2", "water_mass", 2.0),
    ("0.2 in. w.c.", "pressure", 49.816), ("0.2 inches of water", "pressure", 49.816),
    ("10 gallons per day", "moisture_rate", 4.38126e-4), ("0.1 perms", "permeance", 5.72135e-12),
]  # fmt: skip


@pytest.mark.parametrize(("given", "name", "value"), ON_SITE)
def test_values_as_they_are_said_on_site(given, name, value):
    assert parse(given, name) == pytest.approx(value, rel=1e-4)


@pytest.mark.parametrize("given", ["7-1/0 in", "7 1/4 gallons", "5 ft 6 perm", "a pint"])
def test_what_is_no_length_is_still_refused(given):
    with pytest.raises(InputError):
        parse(given, "thickness")


def test_a_system_has_two_names_and_no_other():
    assert system_of("us") == "US" and system_of("metric") == system_of("SI") == "SI"
    with pytest.raises(InputError, match="write 'us' or 'metric'"):
        system_of("imperial")
