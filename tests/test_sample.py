"""The sample scenario: made by its script, invented throughout, small, and shaped as the story needs it."""

from __future__ import annotations

import math
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import geopandas
import numpy as np
import pytest
import rasterio
import shapely
from rasterio import features

SAMPLE = Path(__file__).parent.parent / "sample_geo"
RASTERS = ("elevation.tif", "canopy.tif")
TEXTS = ("wires.geojson", "avoid.geojson", "towers.dat")
INCIDENTS = ("incident.toml", "hotter.toml", "morning.toml")
BY_HAND = ("README.md", "light.toml", "bucket.toml", *INCIDENTS)
LEVELS_M = {
    "Crown Lake": 1800.0, "Weir Reservoir": 940.0, "Mirror Tarn": 1590.0, "Lantern Pond": 982.0, "Camp Pond": 1100.0,
    "Heron Lake": 335.0, "Fern Pond": 204.0, "Long Meadow Lake": 146.0, "Outer sea": 0.0,
}  # fmt: skip


def files() -> list[Path]:
    return sorted(p for p in SAMPLE.iterdir() if p.is_file())


def grid(name: str, folder: Path = SAMPLE) -> np.ndarray:
    with rasterio.open(folder / name) as file:
        return file.read(1)


@pytest.fixture(scope="module")
def waters() -> geopandas.GeoDataFrame:
    return geopandas.read_file(SAMPLE / "water.gpkg").set_index("name")


@pytest.fixture(scope="module")
def cells(waters: geopandas.GeoDataFrame) -> dict[str, np.ndarray]:
    with rasterio.open(SAMPLE / "elevation.tif") as file:
        shape, transform = file.shape, file.transform
    return {
        name: features.rasterize([(geometry, 1)], shape, transform=transform).astype(bool)
        for name, geometry in waters.geometry.items()
    }


@pytest.fixture(scope="module")
def again(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sample")
    subprocess.run([sys.executable, str(SAMPLE / "make_sample.py"), str(folder)], check=True, cwd=folder)
    return folder


@pytest.mark.slow
@pytest.mark.parametrize("name", RASTERS)
def test_script_makes_the_committed_rasters(name: str, again: Path) -> None:
    # 0.13: one step of the stored heights, for another build of the numeric libraries
    np.testing.assert_allclose(grid(name, again), grid(name), atol=0.13 if name == "elevation.tif" else 1)
    with rasterio.open(SAMPLE / name) as ours, rasterio.open(again / name) as new:
        assert ours.profile == new.profile
        assert ours.tags() == new.tags()


@pytest.mark.slow
def test_script_makes_the_committed_waters(again: Path) -> None:
    ours, new = (geopandas.read_file(folder / "water.gpkg") for folder in (SAMPLE, again))
    assert ours.drop(columns="geometry").equals(new.drop(columns="geometry"))
    assert ours.crs == new.crs
    # outlines are simplified by 5 m: another build of GEOS may keep another point
    assert shapely.hausdorff_distance(ours.geometry.values, new.geometry.values).max() < 5.0
    np.testing.assert_allclose(new.area, ours.area, rtol=1e-3)


@pytest.mark.slow
@pytest.mark.parametrize("name", TEXTS)
def test_script_makes_the_committed_text_files(name: str, again: Path) -> None:
    assert (again / name).read_text() == (SAMPLE / name).read_text()


@pytest.mark.parametrize("name", TEXTS + BY_HAND)
def test_text_files_say_that_they_are_invented(name: str) -> None:
    assert "invented" in (SAMPLE / name).read_text(encoding="utf-8").lower()


def test_layers_say_that_they_are_invented(waters: geopandas.GeoDataFrame) -> None:
    for name in RASTERS:
        with rasterio.open(SAMPLE / name) as file:
            assert "not a real place" in file.tags()["invented"]
    assert waters["note"].str.contains("invented").all()
    for name in INCIDENTS:
        assert tomllib.loads((SAMPLE / name).read_text())["invented"] is True


def test_sample_is_small() -> None:
    assert sum(p.stat().st_size for p in files()) < 6e6


@pytest.mark.parametrize("path", files(), ids=lambda p: p.name)
def test_no_file_holds_a_path_of_the_machine_that_made_it(path: Path) -> None:
    assert not re.search(rb"/(home|tmp|work|root|Users|usr|opt|mnt)/|[A-Z]:\\\\?Users", path.read_bytes())


def test_ground_is_metres_above_a_named_datum() -> None:
    with rasterio.open(SAMPLE / "elevation.tif") as file:
        assert file.res == (20.0, 20.0)
        assert file.shape == (1250, 1250)
        assert file.units == ("metre",)
        assert "EGM2008 height" in file.crs.to_wkt()
        ground = file.read(1)
    assert ground.max() > 2000
    assert ground.min() == 0


@pytest.mark.parametrize("name", LEVELS_M)
def test_still_water_lies_flat_and_is_held(name: str, cells: dict[str, np.ndarray]) -> None:
    ground = grid("elevation.tif")
    assert set(np.unique(ground[cells[name]])) == {np.float32(LEVELS_M[name])}
    from scipy.ndimage import binary_dilation

    shore = binary_dilation(cells[name]) & ~cells[name]
    assert ground[shore].min() >= LEVELS_M[name]


def test_river_falls_gently_to_the_sea_between_walls(cells: dict[str, np.ndarray]) -> None:
    ground = grid("elevation.tif")
    bed = np.array(
        [ground[row][cells["Gannet River"][row]].mean() for row in np.flatnonzero(cells["Gannet River"].any(axis=1))]
    )
    assert (np.diff(bed) < 0.2).all()  # rows run from north to south
    assert 40 < bed[0] < 80
    assert bed[-1] < 2
    head_row = np.flatnonzero(cells["Gannet River"].any(axis=1))[20]
    column = int(np.flatnonzero(cells["Gannet River"][head_row]).mean())
    assert min(ground[head_row, column - 20], ground[head_row, column + 20]) > bed[20] + 100  # 400 m to each side


def test_tall_trees_ring_the_pond_that_needs_a_long_line(cells: dict[str, np.ndarray]) -> None:
    from scipy.ndimage import distance_transform_edt

    canopy = grid("canopy.tif")
    away = distance_transform_edt(~cells["Lantern Pond"], sampling=20.0)
    assert canopy[cells["Lantern Pond"]].max() == 0
    ring = canopy[(away > 40) & (away < 150)]
    assert ring.min() >= 35
    assert ring.max() <= 45


def test_woods_stop_at_the_tree_line_and_at_the_shore(cells: dict[str, np.ndarray]) -> None:
    ground, canopy = grid("elevation.tif"), grid("canopy.tif")
    assert 0.3 < (canopy[ground > 0] > 0).mean() < 0.7
    assert canopy[ground > 1750].max() == 0
    assert canopy[np.logical_or.reduce(list(cells.values()))].max() == 0


def test_waters_that_no_bucket_can_use_are_tagged(waters: geopandas.GeoDataFrame) -> None:
    assert waters.loc["Dry Pan", "intermittent"] == "yes"
    assert waters.loc["Tailings Basin", "reservoir_type"] == "tailings"
    assert waters.loc["Village Cistern", "covered"] == "yes"
    assert waters.loc["Outer sea", "salt"] == "yes"
    assert waters["depth_m"].isna().any()
    assert waters["depth_m"].notna().any()


def test_fire_lies_on_a_flank_among_the_waters(waters: geopandas.GeoDataFrame) -> None:
    fire = (
        geopandas.GeoSeries.from_xy([-(160 + 3.25 / 60)], [42 + 10.5 / 60], crs="EPSG:4326").to_crs(waters.crs).iloc[0]
    )
    with rasterio.open(SAMPLE / "elevation.tif") as file:
        (height,) = next(file.sample([(fire.x, fire.y)]))
    assert 1300 < height < 1500
    km = waters.geometry.representative_point().distance(fire) / 1000
    assert km.drop(["Outer sea", "Camp Pond"]).between(2, 9).all()


def test_chart_of_the_made_up_helicopter_follows_its_formula() -> None:
    # momentum theory: thrust ~ sigma^(1/3) power^(2/3) (from memory: Leishman, Principles of Helicopter
    # Aerodynamics, ch. 2); the power's law is made up, as the file says
    chart = tomllib.loads((SAMPLE / "light.toml").read_text())["hoge"]
    for pressure_altitude, row in zip(chart["pressure_altitude"], chart["mass"], strict=True):
        feet = float(pressure_altitude.removesuffix(" ft"))
        standard_k = 288.15 - 0.0065 * 0.3048 * feet
        delta = (standard_k / 288.15) ** 5.25588
        for temperature, cell in zip(chart["temperature"], row, strict=True):
            celsius = float(temperature.removesuffix(" degC"))
            sigma = delta * 288.15 / (celsius + 273.15)
            power = delta * (1 - 0.008 * max(0, celsius - 15))
            mass = min(2930, 3660 * sigma ** (1 / 3) * power ** (2 / 3))
            hottest = 50 - (feet - 2500) / 300
            assert cell == ("-" if celsius > hottest else f"{5 * math.floor(mass / 5)} kg")
