"""Reads every hostile file of a folder the way a plan does, in the process that calls; run alone, it is armed first.

    python tests/reading/try_hostile.py FOLDER

prints one JSON object: by the name of each case what came of it.
"""

import contextlib
import json
import sys
from pathlib import Path


def try_all(cases: dict[str, tuple[str, Path]], folder: Path) -> dict[str, str]:
    """What came of each case: the message of its refusal, or ``opened: …`` with all that was read."""
    from layer_scene import FRAME, laid

    from diproute.errors import DiprouteError
    from diproute.reading.layer_sources import said_by
    from diproute.reading.raster import open_rasters
    from diproute.reading.vectors import read_features
    from diproute.records import Grid

    grid = Grid(FRAME.lat_deg, FRAME.lon_deg, -100.0, 100.0, 20.0, 10, 10)
    out = {}
    for name, (sort, path) in cases.items():
        if sort == "vector" and path.exists():
            with contextlib.suppress(DiprouteError):
                said_by(path, None)
        try:
            if sort == "raster":
                tiles = open_rasters(path, FRAME, "layers.elevation", folder / Path(path).parent.name)
                out[name] = f"opened: {laid(tiles, grid).highest.max()}"
            else:
                features, _ = read_features((path, None), FRAME, (-300.0, -300.0, 300.0, 300.0), "layers.water")
                out[name] = f"opened: {[(f.geometry.wkt, f.tags) for f in features]}"
        except DiprouteError as error:
            out[name] = str(error)
    return out


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from diproute.reading.drivers import arm

    assert arm()
    folder = Path(sys.argv[1])
    listed = json.loads((folder / "cases.json").read_text())
    print(json.dumps(try_all({name: (sort, Path(path)) for name, (sort, path) in listed.items()}, folder)))
