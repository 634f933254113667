"""Monthly normals of the invented places. All values are demo values, typical of a kind of climate."""

from __future__ import annotations

from dataclasses import dataclass

Months = tuple[float, float, float, float, float, float, float, float, float, float, float, float]


@dataclass(frozen=True)
class Place:
    """Monthly normals, January to December, of an invented place.

    Parameters
    ----------
    name, kind : str
        Name of the place and the kind of climate it stands for.
    latitude, longitude, altitude, utc_offset : float
        [degree], [degree], [m], [h].
    temperature : 12 values
        Mean air temperature [degC].
    daily_range : 12 values
        Mean of highest less lowest temperature of a day [K].
    synoptic : 12 values
        Standard deviation of the weather's temperature about the season and the time of day [K].
    humidity : 12 values
        Mean relative humidity [-].
    cloud : 12 values
        Mean opaque cloud [-].
    wind : 12 values
        Mean wind speed at 10 m [m/s].
    rain : 12 values
        Precipitation [mm a month].
    wet_share : 12 values
        Share of hours with precipitation [-].
    wind_from, rain_from : float
        Direction [degree] of the prevailing wind and of wind that brings rain.
    turbidity : float
        Linke turbidity [-], mean of the year.
    calm : float
        Winds below this share of the scale of the wind [-] are calms.
    sun_correlation : (float, float) or None
        Correlation of the temperature of days with their sun [-] in winter and in summer; None: by latitude.
    flicker : float
        Standard deviation of what temperature does from hour to hour [K].
    """

    name: str
    kind: str
    latitude: float
    longitude: float
    altitude: float
    utc_offset: float
    temperature: Months
    daily_range: Months
    synoptic: Months
    humidity: Months
    cloud: Months
    wind: Months
    rain: Months
    wet_share: Months
    wind_from: float
    rain_from: float
    turbidity: float = 3.0
    calm: float = 0.26
    flicker: float = 0.45
    sun_correlation: tuple[float, float] | None = None


FERNMOOR = Place(
    name="fernmoor",
    kind="cold humid",
    latitude=59.0,
    longitude=21.0,
    altitude=80.0,
    utc_offset=1.0,
    temperature=(-9.0, -7.5, -3.0, 4.0, 10.5, 15.0, 17.0, 16.0, 11.0, 5.0, 0.0, -5.0),
    daily_range=(5.0, 6.0, 7.5, 8.5, 10.0, 10.0, 10.0, 9.0, 8.0, 6.0, 4.0, 4.5),
    synoptic=(5.5, 5.5, 4.5, 3.5, 3.5, 3.0, 2.8, 2.8, 3.2, 3.8, 4.5, 5.0),
    humidity=(0.88, 0.86, 0.80, 0.73, 0.67, 0.70, 0.74, 0.78, 0.83, 0.86, 0.90, 0.90),
    cloud=(0.72, 0.68, 0.62, 0.60, 0.56, 0.56, 0.56, 0.57, 0.62, 0.68, 0.77, 0.77),
    wind=(4.2, 4.0, 4.0, 3.8, 3.7, 3.5, 3.3, 3.3, 3.7, 4.1, 4.3, 4.3),
    rain=(62.0, 50.0, 48.0, 48.0, 52.0, 76.0, 92.0, 98.0, 88.0, 86.0, 80.0, 70.0),
    wet_share=(0.17, 0.15, 0.13, 0.11, 0.09, 0.10, 0.10, 0.11, 0.13, 0.15, 0.18, 0.18),
    wind_from=230.0,
    rain_from=170.0,
    turbidity=2.6,
)

SALTREED = Place(
    name="saltreed",
    kind="hot humid",
    latitude=27.5,
    longitude=-81.0,
    altitude=5.0,
    utc_offset=-5.0,
    temperature=(17.5, 18.5, 21.0, 24.0, 26.5, 28.5, 29.0, 29.0, 28.0, 25.5, 21.5, 18.5),
    daily_range=(9.0, 9.0, 9.0, 8.5, 8.0, 7.5, 7.5, 7.5, 7.0, 7.5, 8.5, 9.0),
    synoptic=(3.5, 3.2, 2.8, 2.0, 1.5, 1.1, 0.9, 0.9, 1.1, 1.9, 2.8, 3.3),
    humidity=(0.75, 0.74, 0.72, 0.70, 0.72, 0.75, 0.75, 0.76, 0.77, 0.75, 0.75, 0.76),
    cloud=(0.50, 0.50, 0.48, 0.45, 0.47, 0.56, 0.57, 0.57, 0.58, 0.50, 0.48, 0.50),
    wind=(3.6, 3.8, 4.0, 3.9, 3.6, 3.1, 2.8, 2.8, 3.2, 3.6, 3.6, 3.5),
    rain=(55.0, 62.0, 75.0, 60.0, 95.0, 190.0, 180.0, 195.0, 185.0, 90.0, 55.0, 55.0),
    wet_share=(0.06, 0.06, 0.055, 0.045, 0.055, 0.09, 0.09, 0.10, 0.10, 0.065, 0.05, 0.055),
    wind_from=100.0,
    rain_from=130.0,
    turbidity=3.6,
)

KELPWICK = Place(
    name="kelpwick",
    kind="marine",
    latitude=52.0,
    longitude=-9.0,
    altitude=15.0,
    utc_offset=0.0,
    temperature=(6.2, 6.1, 7.2, 8.7, 11.2, 13.7, 15.4, 15.4, 13.8, 11.2, 8.4, 6.8),
    daily_range=(4.0, 4.5, 5.0, 5.8, 6.2, 6.0, 5.6, 5.6, 5.4, 4.8, 4.4, 4.0),
    synoptic=(2.8, 2.7, 2.3, 2.1, 2.1, 1.9, 1.7, 1.7, 1.8, 2.2, 2.5, 2.8),
    humidity=(0.86, 0.84, 0.83, 0.81, 0.80, 0.82, 0.84, 0.84, 0.84, 0.85, 0.86, 0.87),
    cloud=(0.75, 0.74, 0.72, 0.69, 0.68, 0.70, 0.73, 0.71, 0.70, 0.72, 0.74, 0.76),
    wind=(7.2, 7.0, 6.6, 5.8, 5.5, 5.2, 5.1, 5.2, 5.7, 6.4, 6.7, 7.0),
    rain=(150.0, 115.0, 110.0, 85.0, 80.0, 85.0, 90.0, 105.0, 110.0, 145.0, 150.0, 155.0),
    wet_share=(0.24, 0.21, 0.19, 0.15, 0.13, 0.13, 0.14, 0.15, 0.16, 0.21, 0.23, 0.24),
    wind_from=240.0,
    rain_from=210.0,
    turbidity=3.0,
)

THORNVALE = Place(
    name="thornvale",
    kind="mixed humid",
    latitude=37.5,
    longitude=-80.0,
    altitude=250.0,
    utc_offset=-5.0,
    temperature=(3.0, 4.8, 9.2, 14.5, 19.0, 23.2, 25.4, 24.8, 21.2, 15.0, 9.4, 4.6),
    daily_range=(10.0, 10.5, 11.5, 12.0, 11.5, 11.0, 10.5, 10.5, 11.0, 12.0, 11.0, 10.0),
    synoptic=(5.0, 4.8, 4.6, 4.0, 3.3, 2.6, 2.1, 2.2, 3.0, 3.8, 4.5, 4.8),
    humidity=(0.67, 0.64, 0.62, 0.61, 0.69, 0.72, 0.74, 0.76, 0.75, 0.70, 0.67, 0.68),
    cloud=(0.55, 0.53, 0.52, 0.48, 0.50, 0.47, 0.47, 0.46, 0.44, 0.40, 0.47, 0.53),
    wind=(3.5, 3.7, 3.9, 3.8, 3.2, 2.9, 2.7, 2.6, 2.7, 2.9, 3.2, 3.3),
    rain=(85.0, 78.0, 98.0, 90.0, 95.0, 98.0, 110.0, 100.0, 102.0, 80.0, 82.0, 85.0),
    wet_share=(0.11, 0.10, 0.10, 0.08, 0.075, 0.065, 0.065, 0.06, 0.065, 0.065, 0.085, 0.10),
    wind_from=220.0,
    rain_from=80.0,
    turbidity=3.2,
)

RIMEFELL = Place(
    name="rimefell",
    kind="subarctic",
    latitude=66.0,
    longitude=28.0,
    altitude=180.0,
    utc_offset=2.0,
    temperature=(-15.5, -14.5, -9.0, -2.0, 5.5, 12.0, 15.0, 12.0, 6.5, -0.5, -7.5, -12.5),
    daily_range=(6.5, 7.5, 9.5, 9.5, 9.5, 10.0, 10.0, 9.0, 7.5, 5.0, 5.5, 6.0),
    synoptic=(7.5, 7.2, 6.0, 4.2, 3.8, 3.6, 3.2, 3.0, 3.4, 4.6, 6.0, 7.0),
    humidity=(0.84, 0.83, 0.78, 0.72, 0.65, 0.65, 0.70, 0.78, 0.83, 0.88, 0.89, 0.86),
    cloud=(0.62, 0.60, 0.58, 0.58, 0.60, 0.59, 0.59, 0.62, 0.66, 0.72, 0.72, 0.66),
    wind=(3.0, 3.0, 3.2, 3.2, 3.3, 3.3, 3.0, 2.9, 3.1, 3.3, 3.1, 3.0),
    rain=(36.0, 31.0, 32.0, 32.0, 42.0, 62.0, 76.0, 70.0, 56.0, 52.0, 46.0, 40.0),
    wet_share=(0.15, 0.14, 0.12, 0.10, 0.10, 0.10, 0.10, 0.11, 0.13, 0.16, 0.17, 0.16),
    wind_from=200.0,
    rain_from=160.0,
    turbidity=2.3,
)

OCHREFLAT = Place(
    name="ochreflat",
    kind="high dry",
    latitude=38.0,
    longitude=-107.0,
    altitude=2100.0,
    utc_offset=-7.0,
    temperature=(-4.5, -2.5, 2.0, 6.5, 11.5, 17.0, 20.0, 19.0, 14.8, 8.5, 1.5, -4.0),
    daily_range=(14.0, 14.0, 15.0, 16.0, 17.0, 18.5, 17.0, 16.0, 16.5, 16.5, 14.5, 14.0),
    synoptic=(4.0, 4.0, 4.0, 3.8, 3.3, 2.8, 1.9, 1.9, 2.8, 3.5, 4.0, 4.0),
    humidity=(0.64, 0.60, 0.52, 0.45, 0.41, 0.34, 0.44, 0.49, 0.48, 0.50, 0.57, 0.64),
    cloud=(0.42, 0.42, 0.42, 0.38, 0.36, 0.26, 0.34, 0.34, 0.26, 0.28, 0.34, 0.40),
    wind=(2.8, 3.1, 3.7, 4.1, 4.0, 3.8, 3.3, 3.1, 3.1, 3.1, 2.9, 2.7),
    rain=(20.0, 19.0, 24.0, 24.0, 23.0, 17.0, 42.0, 46.0, 34.0, 28.0, 20.0, 20.0),
    wet_share=(0.06, 0.06, 0.055, 0.045, 0.04, 0.022, 0.045, 0.045, 0.035, 0.035, 0.04, 0.055),
    wind_from=250.0,
    rain_from=220.0,
    turbidity=2.2,
)

PLACES: tuple[Place, ...] = (FERNMOOR, SALTREED, KELPWICK, THORNVALE, RIMEFELL, OCHREFLAT)
