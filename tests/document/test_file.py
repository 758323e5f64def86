"""A plan is read back to equal what was written; anything else is refused in one clear line."""

import json
import os
import subprocess
import sys

import jsonschema
import pytest
from outlook_fixture import full_plan
from plan_fixture import make_plan
from small_incident import VILLAGE, WIRE, Water, disc, ring, write_incident

from diproute.document import FORMAT, Plan, plan_text, read_plan, write_plan
from diproute.document.file import LARGEST_BYTES
from diproute.document.schema import PLACE, schema, schema_text
from diproute.errors import InputError, OutputError, PlanError


@pytest.fixture(scope="module")
def plan():
    return full_plan()


@pytest.fixture(scope="module")
def document(plan):
    return json.loads(plan_text(plan))


@pytest.fixture
def changed(document, tmp_path):
    """Write the plan with a change; give its path."""

    def write(change):
        copy = json.loads(json.dumps(document))
        change(copy)
        path = tmp_path / "plan.json"
        path.write_text(json.dumps(copy), encoding="utf-8")
        return path

    return write


def same(one, other):
    """Equal, and of the same types throughout."""
    assert type(one) is type(other)
    if hasattr(type(one), "model_fields"):
        for name in {**type(one).model_fields, **(one.model_extra or {})}:
            same(getattr(one, name), getattr(other, name))
    elif isinstance(one, dict):
        assert list(one) == list(other)
        for key in one:
            same(one[key], other[key])
    elif isinstance(one, list | tuple):
        assert len(one) == len(other)
        for a, b in zip(one, other, strict=True):
            same(a, b)
    else:
        assert one == other


# --- there and back ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [make_plan, full_plan, lambda: make_plan(usable=False, display="metric")])
def test_read_back_it_is_equal(make, tmp_path):
    plan = make()
    back = read_plan(write_plan(plan, tmp_path / "plan.json"))
    assert back == plan
    same(back, plan)
    assert plan_text(back) == plan_text(plan)


def test_the_sample_is_read_back_equal_and_small(sample_plan, tmp_path):
    path = write_plan(sample_plan, tmp_path / "plan.json")
    plan = sample_plan.document
    back = read_plan(path)
    assert back == plan
    same(back, plan)
    assert plan_text(back).encode() == path.read_bytes()
    assert path.stat().st_size < 2.1e6  # arcs and orbits are in the paths, a point every 25 m
    jsonschema.validate(json.loads(path.read_text()), schema(), cls=jsonschema.Draft202012Validator)


SEEDS = range(50)


def small_waters(rng):
    """Up to four lakes and ponds about the fire."""
    waters = []
    for name in ("Upper", "Lower", "East", "West")[: rng.integers(1, 5)]:
        x, y = rng.uniform(-2600, 2600, 2)
        depth = None if rng.random() < 0.4 else float(rng.uniform(0.4, 9.0))
        radius = float(rng.uniform(25, 380))
        waters.append(Water(f"{name} water", disc(x, y, radius), kind="pond" if radius < 90 else "lake", depth_m=depth))
    return waters


@pytest.fixture(scope="module")
def random_plan(tmp_path_factory):
    """Give the plan of a small random incident by its seed."""
    import numpy as np

    from diproute import make_plan, read_incident

    def make(seed):
        rng = np.random.default_rng(seed)
        waters = small_waters(rng)
        changes = {
            "search.keep": int(rng.integers(1, 4)),
            "display": str(rng.choice(["us", "metric"])),
            "weather.temperature": f"{rng.uniform(5, 38):.0f} degC",
            "weather.wind": f"{rng.integers(0, 360)} deg {rng.integers(0, 25)} kt",
            "helicopter.count": int(rng.integers(1, 3)),
            "search.radius": "2600 m",
        }
        if rng.random() < 0.3:
            changes["base"] = None
        trees = ring(waters[0], float(rng.uniform(8, 45))) if rng.random() < 0.6 else None
        layers = {
            "waters": waters,
            "trees": trees,
            "wires": [{**WIRE, "line": [(900, -1800), (900, 1800)]}] if rng.random() < 0.5 else [],
            "avoid": [VILLAGE] if rng.random() < 0.4 else [],
            "cell": 60.0,
            "half": 4600.0,
        }
        folder = tmp_path_factory.mktemp(f"seed{seed}")
        return make_plan(read_incident(write_incident(folder, changes, **layers)))

    return make


@pytest.mark.slow
@pytest.mark.parametrize("seed", SEEDS)
def test_small_random_incidents_are_read_back_equal(seed, random_plan, tmp_path):
    planned = random_plan(seed)
    back = read_plan(write_plan(planned, tmp_path / "plan.json"))
    assert back == planned.document
    assert plan_text(back) == plan_text(planned.document)


def test_what_make_plan_gives_is_written_by_its_document(plan, tmp_path):
    class Held:
        document = plan

    assert write_plan(Held(), tmp_path / "plan.json").read_text(encoding="utf-8") == plan_text(plan)


def test_the_text_is_compact_json_and_ends_in_a_line_feed(plan, tmp_path):
    text = plan_text(plan)
    assert text.endswith("}\n")
    assert text.count("\n") == 1
    assert write_plan(plan, tmp_path / "plan.json").read_bytes() == text.encode()


def test_an_unwritable_place_is_one_line_and_leaves_nothing(plan, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(OutputError, match=r"cannot write .*plan\.json") as caught:
        write_plan(plan, tmp_path / "file" / "plan.json")
    assert "\n" not in str(caught.value)
    folder = tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(OutputError, match="choose a folder"):
        write_plan(plan, folder)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["file", "folder"]


# --- what a later release adds -------------------------------------------------------------------------------


def test_keys_of_a_later_release_are_kept_at_every_level_and_written_again(changed, document):
    later = {"level_mean_m": 3.5, "gates": [{"x": [1, 2.5, None]}], "no_go": {"wind_m_s": 9.0}, "new": True}

    def change(d):
        for part in (
            d, d["air"], d["sites"][0], d["sites"][0]["routes"][0], d["sites"][0]["directions"][5], d["waters"][0],
            d["waters"][0]["geometry"], d["day"]["hours"][2]["sites"][0], d["cautions"][0], d["terrain"]["heights"],
            d["fleet"], d["helicopter"]["hoge"][0],
        ):  # fmt: skip
            part.update(later)

    path = changed(change)
    plan = read_plan(path)
    assert plan.model_extra == later
    assert plan.sites[0].routes[0].model_extra == later
    written = json.loads(plan_text(plan))
    assert written == json.loads(path.read_text(encoding="utf-8"))
    assert read_plan(write_plan(plan, path.with_name("again.json"))) == plan


def test_a_code_of_a_later_release_is_told_by_the_sentence_it_came_with(changed):
    later = {"code": "too-many-midges", "values": {"midges": 3, "why": {"code": "wet", "because": "wet"}},
             "because": "3 midges"}  # fmt: skip
    plan = read_plan(changed(lambda d: d["sites"][0]["cautions"].append(later)))
    finding = plan.sites[0].cautions[-1]
    assert finding.because == "3 midges"
    assert json.loads(plan_text(plan))["sites"][0]["cautions"][-1]["because"] == "3 midges"


def test_the_sentence_of_a_known_code_is_made_anew(changed, plan):
    def tamper(d):
        d["sites"][0]["cautions"][0]["because"] = "perfectly safe"
        del d["sites"][4]["refused"][0]["because"]

    assert read_plan(changed(tamper)) == plan


def test_optional_keys_may_be_missing(changed):
    def without(d):
        for key in ("defaults", "layers", "day", "doubt", "fleet", "duty", "avoid", "left_out", "cautions", "more"):
            del d[key]

    plan = read_plan(changed(without))
    assert (plan.day, plan.doubt, plan.fleet, plan.duty, plan.layers) == (None, None, None, None, ())


# --- formats -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("format_", "said"),
    [
        ("diproute-plan/1", f"diproute-plan/1 came; this release reads {FORMAT}; plan the incident again"),
        ("diproute-plan/3", f"diproute-plan/3 came; this release reads {FORMAT}; use a newer diproute"),
        ("diproute-plan/40", "use a newer diproute"),
        ("diproute-plan/two", "is no plan: its format is 'diproute-plan/two'"),
        ("\x1b[31m" + "x" * 5000, "is no plan: its format is '\\x1b[31mxxx"),
        ("", "is no plan: its format is ''"),
        (2, 'is no plan: it has no "format"'),
    ],
)
def test_other_formats(changed, format_, said):
    refused(changed(lambda d: d.update(format=format_)), said)


def refused(path, said):
    """The file is refused in one short printable line that says so."""
    with pytest.raises(PlanError) as caught:
        read_plan(path)
    line = str(caught.value)
    assert said in line
    assert line.startswith(f"{path}: ")
    assert line.isprintable()
    assert len(line) < len(str(path)) + 420
    assert isinstance(caught.value, InputError)
    assert caught.value.where == str(path)


# --- files that are no plan ----------------------------------------------------------------------------------

START = b'{"format":"diproute-plan/2",'
HOSTILE = {
    "empty": (b"", "is empty"),
    "blank": (b" \n\n", "is empty"),
    "not utf-8": (b'{"format":"\xff\xfe"}', "is not text in UTF-8 (byte 12)"),
    "utf-16": ('{"format":"diproute-plan/2"}'.encode("utf-16"), "is not text in UTF-8"),
    "byte order mark": (b"\xef\xbb\xbf" + START + b'"a":1}', "byte order mark"),
    "no json": (b"title = 'Kestrel Ridge'", "is no JSON (line 1, column 1"),
    "text after the plan": (START + b'"a":1} {}', "is no JSON"),
    "single quotes": (b"{'format':'diproute-plan/2'}", "is no JSON"),
    "a list": (b"[1,2,3]", 'it has no "format"'),
    "a number": (b"7", 'it has no "format"'),
    "null": (b"null", 'it has no "format"'),
    "another json": (b'{"type":"FeatureCollection","features":[]}', 'it has no "format"'),
    "nan": (START + b'"declination_deg":NaN}', "NaN came, which is no number of JSON"),
    "infinity": (START + b'"a":[1,-Infinity]}', "-Infinity came"),
    "a number too large": (START + b'"declination_deg":1e999}', "the number '1e999' is too large"),
    "a whole number too large": (START + b'"a":' + b"9" * 100_000 + b"}", "is too large"),
    "a whole number beyond a double": (START + b'"a":9007199254740993}', "the number '9007199254740993' is too large"),
    "a key twice": (START + b'"title":"a","title":"b"}', "the key 'title' stands twice"),
    "a key twice, deep": (START + b'"a":[{"b":{"\\u001bc":1,"\\u001bc":2}}]}', "the key '\\x1bc' stands twice"),
    "deep lists": (START + b'"a":' + b"[" * 200_000 + b"]" * 200_000 + b"}", "too deep inside each other"),
    "deep objects": (START + b'"a":' + b'{"a":' * 5000 + b"1" + b"}" * 5000 + b"}", "too deep inside each other"),
    "half a surrogate": (START + b'"title":"\\ud800"}', "the plan"),
    "keys missing": (START + b'"title":"a"}', "invented: field required (and"),
    "control characters": (START + b'"title":"a\x00b"}', "is no JSON"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files(name, tmp_path):
    data, said = HOSTILE[name]
    path = tmp_path / "plan.json"
    path.write_bytes(data)
    refused(path, said)


@pytest.mark.parametrize("share", [0.001, 0.1, 0.5, 0.9, 0.999, 0.999995])
def test_a_plan_that_was_cut_short(share, plan, tmp_path):
    path = tmp_path / "plan.json"
    data = plan_text(plan).encode()
    path.write_bytes(data[: int(share * len(data))].rstrip())
    refused(path, "it was cut short")


def test_places_that_are_no_file(tmp_path):
    refused(tmp_path, "is a folder")
    refused(tmp_path / "missing.json", "there is no such file")
    refused(tmp_path / "file.json" / "plan.json", "there is no such file")
    (tmp_path / "file.json").write_text("{}")
    refused(tmp_path / "file.json" / "plan.json", "cannot be read: Not a directory")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    refused(pipe, "is no ordinary file")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    refused(tmp_path / "loop", "cannot be read")
    with pytest.raises(PlanError, match="is no ordinary file"):
        read_plan("/dev/zero")
    with pytest.raises(PlanError, match="cannot be read"):
        read_plan("a\0b")


def test_a_file_that_may_not_be_read(tmp_path):
    path = tmp_path / "plan.json"
    path.write_text("{}")
    path.chmod(0)
    if os.access(path, os.R_OK):
        pytest.skip("this user may read everything")
    refused(path, "cannot be read: Permission denied")


def test_a_file_of_a_gigabyte_is_not_even_opened(tmp_path):
    path = tmp_path / "plan.json"
    with path.open("wb") as file:
        file.truncate(2**30)
    refused(path, f"holds 1024 MB, and no plan holds more than {LARGEST_BYTES // 2**20}")


# --- plans that were damaged or changed by hand --------------------------------------------------------------

WEBP = "data:image/webp;base64,"
LONG = "\x1b]0;" + "z" * 100_000


def put(path, value):
    """A change: the value at a place of the plan, such as ``"sites.0.lat"``."""

    def change(document):
        *above, last = path.split(".")
        here = document
        for part in above:
            here = here[int(part)] if isinstance(here, list) else here[part]
        here[int(last) if isinstance(here, list) else last] = value

    return change


DAMAGED = {
    "text for a number": (put("sites.0.load.water_kg", "twelve"), "sites.0.load.water_kg: ", "'twelve' came"),
    "long text for a number": (put("sites.0.load.water_kg", LONG), "sites.0.load.water_kg: ", "'\\x1b]0;zzz"),
    "true for a number": (put("declination_deg", True), "declination_deg: ", "True came"),
    "a number for text": (put("title", 7), "title: input should be a valid string", "7 came"),
    "a number for yes or no": (put("invented", 1), "invented: ", "1 came"),
    "null for a number": (put("sites.0.cycle.seconds", None), "sites.0.cycle.seconds: ", "None came"),
    "an object for a list": (put("sites", {}), "sites: input should be a valid", "damaged"),
    "a list for an object": (put("air", []), "air: input should be", "damaged"),
    "a fraction for a count": (put("search.keep", 2.5), "search.keep: ", "2.5 came"),
    "a negative count": (put("helicopter.count", -1), "helicopter.count: ", "-1 came"),
    "a huge number": (put("sites.0.elevation_m", 1e300), "sites.0.elevation_m: ", "1e+300 came"),
    "a place off the earth": (put("sites.0.lat", 91.0), "sites.0.lat: ", "91.0 came"),
    "a path off the earth": (put("sites.0.routes.0.path.3.0", 1e6), "sites.0.routes.0.path.3.0: ", "came"),
    "a point of two numbers": (put("sites.0.routes.0.path.3", [1.0, 2.0]), "path.3.2: field required", "damaged"),
    "a shape off the earth": (put("waters.0.geometry.coordinates.0.0", [1e9, 4.0]), "waters.0.geometry.", "do not fit"),
    "a shape of text": (put("waters.0.geometry.coordinates", ["a"]), "waters.0.geometry.coordinates", "do not fit"),
    "a ring for a point": (put("waters.0.geometry.type", "Point"), "waters.0.geometry.coordinates", "do not fit"),
    "an unknown shape": (put("waters.0.geometry.type", "Circle"), "waters.0.geometry.type: ", "'Circle' came"),
    "no moment": (put("when", "yesterday"), "when: ", "'yesterday' came"),
    "a moment without offset": (put("when", "2026-08-14T15:00:00"), "when: ", "came"),
    "a moment of long ago": (put("day.sunset", "0001-01-01T00:00:00+14:00"), "day.sunset: ", "1900"),
    "an unknown choice": (put("display", "nautical"), "display: ", "'nautical' came"),
    "rows of several lengths": (put("sites.0.routes.0.along_m", [0.0]), "sites.0.routes.0: ", "not of one length"),
    "an envelope of several lengths": (put("sites.0.routes.0.envelope.top_m", [1.0]), "envelope: ", "one length"),
    "a path that runs backwards": (put("sites.0.routes.0.along_m.1", -5.0), "sites.0.routes.0: ", "backwards"),
    "a waypoint off the path": (put("sites.0.routes.0.waypoints.1.index", 999), "sites.0.routes.0: ", "waypoint"),
    "a thing that is not there": (put("sites.0.directions.9.arrival_thing", 999), "sites.0: ", "not there"),
    "an obstacle that is not there": (put("sites.0.things.0.obstacle", 4), "the plan: ", "obstacle"),
    "a ferry that is not there": (put("sites.0.ferry.to_base", "ferry-99"), "the plan: ", "ferry"),
    "an hour of another site": (put("day.hours.0.best", "tarn-7"), "the plan: ", "site that is not there"),
    "two sites of one id": (put("sites.0.id", "reservoir-1"), "the plan: ", "one id"),
    "ranks that do not count up": (put("sites.0.rank", 9), "the plan: ", "ranks"),
    "heights that do not fill their rows": (put("terrain.heights.rows", 7), "terrain.heights: ", "do not fill"),
    "heights that are no base64": (put("terrain.heights.top", "é"), "terrain.heights: ", "do not fill"),
    "a picture with a script": (put("terrain.picture", f"{WEBP}AA\"><script>"), "terrain.picture", "came"),
    "values that do not fit their code": (
        put("sites.0.cautions.0.values.needed_m", "deep"), "sites.0.cautions.0: ", "'depth-unknown' do not fit",
    ),
    "a value that is a list": (put("sites.0.cautions.0.values.needed_m", [1]), "values.needed_m", "should be"),
}  # fmt: skip


@pytest.mark.parametrize("name", DAMAGED)
def test_damaged_plans(name, changed):
    change, where, said = DAMAGED[name]
    path = changed(change)
    refused(path, where)
    refused(path, said)


def test_heights_that_unpack_to_far_too_much_are_not_unpacked(changed):
    import base64
    import tracemalloc
    import zlib

    bomb = base64.b64encode(zlib.compress(b"\0" * 200_000_000)).decode()
    path = changed(put("terrain.heights.top", bomb))
    tracemalloc.start()
    refused(path, "do not fill")
    assert tracemalloc.get_traced_memory()[1] < 40e6
    tracemalloc.stop()


@pytest.mark.parametrize("depth", [30, 240, 900, 20_000])
def test_findings_inside_findings(depth, changed, plan):
    path = changed(put("sites.0.cautions.0", "HERE"))
    nest = '{"code":"opens","values":{"site":' * depth + '"x"' + '},"because":""}' * depth
    path.write_text(path.read_text().replace('"HERE"', nest))
    if depth < 50:
        assert read_plan(path).sites[0].cautions[0].code == "opens"
    else:
        refused(path, "damaged")


# --- schema --------------------------------------------------------------------------------------------------


def test_the_shipped_schema_is_that_of_the_models():
    assert PLACE.read_text(encoding="utf-8") == schema_text(), "run python -m diproute.document.schema"


def test_plans_meet_the_schema_and_spoiled_ones_do_not(document):
    check = jsonschema.Draft202012Validator
    check.check_schema(schema())
    validator = check(schema())
    validator.validate(document)
    validator.validate(json.loads(plan_text(make_plan(usable=False))))
    for change in (
        put("format", "diproute-plan/1"), put("sites.0.lat", "north"), put("sites.0.rank", 1.5),
        put("waters.0.id", None),
        put("day.hours.0.sites.0.fill", "full"), put("sites.0.routes.0.path.0", [1.0, 2.0]),
        put("waters.0.geometry.type", "Circle"), put("display", "nautical"), lambda d: d.pop("terrain"),
        lambda d: d.pop("format"), lambda d: d["sites"][0].pop("lon"),
    ):  # fmt: skip
        copy = json.loads(json.dumps(document))
        change(copy)
        assert not validator.is_valid(copy)


def test_the_room_needs_no_heavy_library_to_read(plan, tmp_path):
    path = write_plan(plan, tmp_path / "plan.json")
    code = (
        "import sys; from diproute.document import read_plan; read_plan(sys.argv[1]);"
        "print(*sorted({'shapely', 'rasterio', 'pyproj', 'scipy', 'numba', 'geopandas'} & set(sys.modules)))"
    )
    ran = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == []


def test_a_plan_can_be_made_by_hand_only_whole():
    with pytest.raises(ValueError, match="Field required"):
        Plan(format=FORMAT, title="x")
