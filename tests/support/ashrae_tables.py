"""ASHRAE Handbook - Fundamentals 2021 (SI), chapter 26, typed in as printed; imports nothing of the engine."""

#: Relative humidities [-] of table 5.
RH = (0.1, 0.3, 0.5, 0.7, 0.9)

#: Table 5: thickness [mm], permeance [ng/(Pa s m2)] at 10, 30, 50, 70, 90 % relative humidity.
BOARDS = {
    "gypsum board": (12.5, "2340 2720 3190 3760 4470"),
    "OSB 9.9 mm": (9.9, "0.65 18 49 140 390"),
    "OSB": (10.8, "2.4 56 110 210 380"),
    "OSB 12.3 mm": (12.3, "3.6 28 73 140 220"),
    "plywood": (12.0, "16 49 120 270 540"),
    "Douglas fir plywood 15 mm": (15.0, "10 27 73 190 530"),
    "softwood plywood 18 mm": (17.8, "3.3 32 130 340 750"),
    "wood fibreboard": (11.8, "1050 1150 1270 1390 1530"),
    "fibre cement": (8.0, "26 73 200 590 1850"),
    "cement board": (12.5, "600 600 740 980 1290"),
    "hardboard siding": (10.8, "360 400 430 470 520"),
    "stucco": (14.0, "58 82 120 160 230"),
    "clay brick": (12.4, "330 360 380 410 440"),
    "mortar": (13.0, "1050 1270 1550 1880 2320"),
    "aerated concrete": (20.3, "550 780 1130 1640 2460"),
    "spruce": (19.5, "19 55 160 480 1510"),
    "eastern white pine": (19.0, "2.5 9.4 35 140 540"),
    "southern yellow pine": (19.5, "6.2 21 70 240 870"),
    "western red cedar": (18.0, "5.9 13 27 59 130"),
    "eastern white cedar": (19.0, "0.66 4.1 26 160 1100"),
    "dense cellulose": (64.5, "1740 2170 2420 2600 2760"),
    "glass fibre batt": (88.0, "1960 1960 1960 1960 1960"),
    "mineral wool board": (25.0, "5080 5080 5080 5080 5080"),
    "expanded polystyrene": (24.3, "120 140 160 190 230"),
    "extruded polystyrene": (25.4, "48 48 48 48 48"),
    "polyisocyanurate": (25.0, "160 180 210 230 260"),
    "closed-cell spray foam": (25.0, "94 100 110 120 130"),
    "open-cell spray foam": (25.0, "3500 3500 3500 3500 3500"),
}
#: Table 5: permeance of papers and membranes [ng/(Pa s m2)] at the same humidities.
FILMS = {
    "building paper 10 min": "240 430 780 1480 3060",
    "building paper 30 min": "440 740 1280 2310 4670",
    "building paper 60 min": "1510 1910 2440 3180 4240",
    "felt #15": "290 290 290 400 1170",
    "weather-resistive membrane": "4370 4370 4370 4370 4370",
    "vinyl wallpaper": "85 140 210 320 460",
}
#: Table 5: gypsum board 12.5 mm with a primer, and with a primer and two coats of latex paint.
PAINTED = {"primer": "680 1490 2200 2890 3590", "latex paint": "110 210 400 800 1650"}
#: Table 5: the polyamide film at 30, 50, 70, 90 %; table 6: the same film in a dry and a wet cup.
POLYAMIDE, POLYAMIDE_CUPS = (53.0, 240.0, 610.0, 2000.0), (62.9, 1174.0)
#: Table 6: dry and wet cup [ng/(Pa s m2)].
CUPS = {
    "kraft paper facing": (17.0, 103.0),
    "sheathing paper": (190.0, 1160.0),
    "asphalt felt": (57.0, 320.0),
    "tar felt": (230.0, 1040.0),
    "single kraft paper": (1170.0, 2400.0),
    "coated roll roofing": (2.9, 14.0),
}
#: Table 6: polyethylene by thickness [mm]: permeance [ng/(Pa s m2)] and [perm].
POLYETHYLENE = {
    "0.05": (9.1, 0.16),
    "0.1": (4.6, 0.08),
    "0.15": (3.4, 0.06),
    "0.2": (2.3, 0.04),
    "0.25": (1.7, 0.03),
}
#: Table 6: one value for all humidities.
STEADY = {
    "vapour-retarder paint": 26.0,
    "primer-sealer": 360.0,
    "vinyl-acrylic primer": 491.0,
    "semigloss enamel": 378.0,
    "exterior acrylic paint": 313.0,
    "aluminium foil": 2.9,
}
#: Table 5: water absorption coefficient [kg/(m2 s^0.5)] of the boards above, and of two more.
ABSORPTION = {
    "gypsum board": 0.0019,
    "OSB 9.9 mm": 0.0016,
    "OSB": 0.0022,
    "OSB 12.3 mm": 0.0016,
    "plywood": 0.0042,
    "Douglas fir plywood 15 mm": 0.0031,
    "softwood plywood 18 mm": 0.0037,
    "wood fibreboard": 0.00094,
    "fibre cement": 0.025,
    "cement board": 0.013,
    "hardboard siding": 0.00072,
    "stucco": 0.012,
    "clay brick": 0.17,
    "mortar": 0.02,
    "aerated concrete": 0.036,
    "concrete": 0.018,
    "limestone": 0.00033,
    "spruce": 0.0020,
    "eastern white pine": 0.0066,
    "southern yellow pine": 0.0014,
    "western red cedar": 0.0010,
    "eastern white cedar": 0.0016,
    "dense cellulose": 0.10,
}
#: Table 7, adsorption: density [kg/m3], humidities [%], moisture contents [% of dry mass].
SORPTION = {
    "OSB": (650, (48.9, 69.1, 88.6), (5.4, 8.2, 14.7)),
    "plywood": (470, (48.9, 69.1, 88.6), (7.0, 9.2, 15.8)),
    "gypsum board": (625, (50.5, 70.5, 90.8, 94), (0.4, 0.65, 1.8, 4.2)),
    "wood fibreboard": (320, (50.6, 70.5, 91.1), (4.6, 7.4, 15.8)),
    "fibre cement": (1380, (50.6, 70.4, 89.9), (4, 5.8, 16.8)),
    "cement board": (1130, (43, 70, 81, 93), (1, 1.9, 3.4, 6.1)),
    "particleboard": (760, (11.3, 57.6, 78.6, 84.1, 93.6, 97.3), (1.2, 6.3, 9.7, 11.3, 15.9, 21.5)),
    "aerated concrete": (460, (50.6, 71.5, 88.1), (1.1, 2.1, 5)),
    "mortar": (1600, (49.9, 70.1, 89.9), (0.42, 2.3, 5.3)),
    "concrete": (2200, (25.2, 44.9, 65, 80, 89.8, 98.2), (0.88, 1.15, 1.74, 2.62, 3.35, 4.45)),
    "stucco": (1985, (50, 70.3, 89.9), (3, 3.7, 5.8)),
    "dense cellulose": (56, (50.5, 71.5, 88.1), (6.1, 9.6, 24)),
    "glass fibre batt": (11.5, (50.6, 71.5, 88.1), (0.21, 0.34, 0.75)),
}
#: Table 7, desorption near saturation: humidity [-], moisture content [% of dry mass].
DESORPTION = [
    ("OSB", 0.993, 39.1),
    ("OSB", 0.998, 62.7),
    ("plywood", 0.993, 70.0),
    ("wood fibreboard", 0.997, 230.0),
    ("mortar", 0.989, 17.0),
    ("clay brick", 0.996, 6.0),
    ("clay brick", 0.999, 9.1),
    ("limestone", 0.989, 0.5),
    ("limestone", 0.999, 1.3),
    ("eastern white pine", 0.998, 84.0),
    ("western red cedar", 0.998, 113.0),
]


def numbers(printed: str) -> list[float]:
    """Return a printed row as numbers."""
    return [float(text) for text in printed.split()]
