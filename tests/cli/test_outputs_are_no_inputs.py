"""No output of a command replaces what the command reads: the case, its weather, a block of a store."""

import pytest
import small_case


def content(folder):
    return {p.relative_to(folder): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def refused(folder, drydown, *words):
    before = content(folder)
    done = drydown(*words)
    assert done.exit_code == 2 and len(done.stderr.splitlines()) == 1, done.stderr
    assert "would be lost; give another name" in done.stderr
    assert content(folder) == before


@pytest.mark.parametrize("command", ["run", "dryout"])
def test_the_weather_that_was_read_is_not_written_over(folder, drydown, command):
    from drydown.climate.weather.files import read_weather
    from drydown.climate.weather.own import write_netcdf

    small_case.write_case(folder)
    write_netcdf(read_weather(folder / "weather.csv"), folder / "own.nc")
    (folder / "own.toml").write_text(small_case.CASE.replace("weather.csv", "own.nc"))
    refused(folder, drydown, command, "own.toml", "-o", "own.nc")


def test_the_case_is_not_written_over_by_its_page(folder, drydown):
    small_case.write_case(folder)
    (folder / "wall.toml").rename(folder / "case.html")
    refused(folder, drydown, "report", "case.html", "-o", "case.html")
    refused(folder, drydown, "report", "case.html")
