"""The map on paper: its scale, its place on the ground as another program reads it, its words."""

from __future__ import annotations

import base64
import dataclasses
import io
import json
import re
import subprocess

import numpy as np
import pypdf
import pytest
from composed import changed, full, plain
from exchange_scene import plans
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from writing.pages import pages

from diproute.errors import PlanError
from diproute.physics.geodesy import distance_and_course
from diproute.writing.brief.brief import brief
from diproute.writing.cautions import INVENTED
from diproute.writing.sheet import frame as frames
from diproute.writing.sheet.labels import Labels
from diproute.writing.sheet.picture import picture
from diproute.writing.sheet.relief import relief
from diproute.writing.sheet.sheet import FOOT_MM, HEAD_MM, MARGIN_MM, PAPERS, sheet


@pytest.fixture(scope="module")
def made():
    return sheet(full(), "a4")


def frame_of(paper: str = "a4"):
    wide, high = PAPERS[paper]
    return frames.fit(full(), wide - 2 * MARGIN_MM, high - 2 * MARGIN_MM - HEAD_MM - FOOT_MM)


def test_the_same_plan_gives_the_same_bytes(made):
    assert sheet(full(), "a4") == made


def test_gdal_reads_where_the_map_lies(made, tmp_path):
    """GDAL's own programs (Debian's gdal-bin) read the neat line within 0.1 m of the frame's corners."""
    path = tmp_path / "sheet.pdf"
    path.write_bytes(made)
    told = json.loads(subprocess.run(["gdalinfo", "-json", path], capture_output=True, check=True, text=True).stdout)
    frame = frame_of()
    assert f"UTM zone {frame.epsg % 100}N" in told["coordinateSystem"]["wkt"]
    line = told["metadata"][""]["NEATLINE"]
    corners = np.array([[float(v) for v in pair.split()] for pair in re.search(r"\(\((.*)\)\)", line)[1].split(",")])
    wide, high = frame.metres
    wanted = {
        (frame.west_m + right * wide, frame.north_m - down * high) for right in (0, 1) for down in (0, 1)
    }  # fmt: skip
    for corner in corners:
        assert min(np.hypot(*(corner - np.array(one))) for one in wanted) < 0.1
    # and a pixel of the page lies where the page says
    left, step, _, top, _, down = told["geoTransform"]
    per_mm = told["size"][0] / PAPERS["a4"][0]
    assert left + MARGIN_MM * per_mm * step == pytest.approx(frame.west_m, abs=step)
    assert top + (MARGIN_MM + HEAD_MM) * per_mm * down == pytest.approx(frame.north_m, abs=-down)


def test_the_file_says_it_as_the_standard_has_it(made):
    """ISO 32000-2, tables 265 to 269: a viewport with a measure of subtype GEO."""
    page = pypdf.PdfReader(io.BytesIO(made)).pages[0]
    (view,) = page["/VP"]
    measure = view["/Measure"].get_object()
    assert (measure["/Subtype"], measure["/GCS"]["/Type"]) == ("/GEO", "/PROJCS")
    box = [float(v) for v in view["/BBox"]]
    frame = frame_of()
    assert (box[2] - box[0]) * 25.4 / 72 == pytest.approx(frame.width_mm, abs=1e-3)
    places = np.array([float(v) for v in measure["/GPTS"]]).reshape(4, 2)
    assert places == pytest.approx(np.array(frame.corners()), abs=1e-6)  # a tenth of a metre


@given(lon=st.floats(-180, 179.9), lat=st.floats(-79, 83))
def test_there_and_back(lon, lat):
    frame = frames.SheetFrame(frames.utm_of(lon, lat), 400_000.0, 5_000_000.0, 50_000, 180.0, 200.0, lon)
    again = frame.to_lonlat(*frame.to_ground(lon, lat))
    assert again[0] == pytest.approx(lon, abs=1e-9)
    assert again[1] == pytest.approx(lat, abs=1e-9)


def test_zones_are_those_of_the_grid():
    """EPSG codes 326zz and 327zz; UPS beyond 84° N and 80° S."""
    assert frames.utm_of(-160.05, 42.2) == 32604
    assert frames.utm_of(179.99, -35.0) == 32760
    assert frames.utm_of(-180.0, 10.0) == 32601
    assert frames.utm_of(0.0, 0.0) == 32631
    assert frames.utm_of(10.0, 85.0) == 32661
    assert frames.utm_of(10.0, -85.0) == 32761


def test_a_length_on_paper_is_its_length_on_the_ground():
    """UTM is off by at most 1 in 1000 inside its zone; the geodesic is PROJ's."""
    frame = frame_of()
    wide, high = frame.metres
    lon, lat = frame.to_lonlat([frame.west_m, frame.west_m + wide], [frame.north_m - high / 2] * 2)
    far, _ = distance_and_course(lon[0], lat[0], lon[1], lat[1])
    assert frame.width_mm / 1000.0 * frame.scale == pytest.approx(far, rel=1e-3)


def test_everything_that_counts_is_on_the_sheet():
    plan, frame = full(), frame_of()
    places = [(site.lon, site.lat) for site in plan.sites]
    places += [(lon, lat) for site in plan.suitable for leg in site.routes for lon, lat, _ in leg.path]
    x, y = frame.place(*np.array(places).T)
    assert x.min() >= 0
    assert y.min() >= 0
    assert x.max() <= frame.width_mm * frames.UNITS_MM
    assert y.max() <= frame.height_mm * frames.UNITS_MM
    assert frame.scale in frames.SCALES


def test_words_of_the_sheet(made):
    (page,) = pages(made)
    plan, frame = full(), frame_of()
    assert page.has(f"1:{frame.scale:,}".replace(",", "\u202f"))
    assert page.has(INVENTED)
    assert page.has("Declination")
    assert page.has(plan.ground.vertical_datum)
    for site in plan.suitable[:1]:
        assert page.is_inked(str(site.rank))


def test_a_site_that_is_not_drawn_is_counted():
    """Of suitable sites each is drawn with its rank, or counted beside a better one."""
    plan, frame = full(), frame_of()
    drawing = picture(plan, frame)
    drawn = {int(rank) for rank in re.findall(r'font-size="29" font-weight="600">(\d+)<', drawing)}
    hidden = sum(int(n) for n in re.findall(r">\+(\d+)<", drawing))
    assert 1 in drawn
    assert len(drawn) + hidden == len(plan.suitable)


def test_ground_that_is_not_known_is_hatched():
    here = frame_of()
    far = dataclasses.replace(here, west_m=here.west_m + 1e5, width_mm=40.0, height_mm=40.0)
    drawn = Image.open(io.BytesIO(base64.b64decode(relief(plain(), far).split(",")[1])))
    grey = np.asarray(drawn)
    assert set(np.unique(grey)) == {150, 255}


@pytest.mark.parametrize("turns", [-1, 0, 1])
def test_the_ground_is_found_however_its_longitudes_are_counted(turns):
    plan = full()
    south, west, north, east = plan.terrain.bounds
    moved = changed(plan, terrain=changed(plan.terrain, bounds=(south, west + 360 * turns, north, east + 360 * turns)))
    assert relief(moved, frame_of()) == relief(plan, frame_of())


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "GIF", "broken", "huge"])
def test_a_picture_that_is_none_of_ours_is_refused_in_one_line(kind):
    out = io.BytesIO()
    size = (2100, 2100) if kind == "huge" else (8, 8)
    Image.new("RGB", size).save(out, {"huge": "WEBP", "broken": "WEBP"}.get(kind, kind))
    data = out.getvalue()[: 20 if kind == "broken" else None]
    url = f"data:image/webp;base64,{base64.b64encode(data).decode()}"
    plan = changed(plain(), terrain=changed(plain().terrain, picture=url))
    with pytest.raises(PlanError, match=r"the plan's picture of the ground .* plan the incident again"):
        sheet(plan, "a4")


@pytest.mark.parametrize("name", list(plans()))
def test_every_plan_has_its_sheet_and_its_brief(name):
    plan = plans()[name]
    (page,) = pages(sheet(plan, "us-letter"))
    assert page.has("map sheet")
    assert len(pages(brief(plan))) == min(len(plan.suitable), 10) + 3  # the incident, check lists, cautions


def test_the_sheet_stays_tagged_with_its_place_in_it(made):
    root = pypdf.PdfReader(io.BytesIO(made)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/StructTreeRoot"]
    assert root["/Lang"] == "en"
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()


def test_labels_keep_off_each_other_and_off_signs():
    labels = Labels(1000.0, 1000.0)
    labels.keep_off(500, 500, 30)
    assert not labels.write(500, 500, "in the way", size=20)
    assert labels.write(500, 500, "beside", size=20, off=35)
    assert labels.write(500, 500, "beside", size=20, off=35)  # another side
    assert not labels.write(990, 100, "over the edge", size=20, off=5, sides=("right",))
