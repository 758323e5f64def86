"""List every file that a run opens and that it should not, by strace (a Debian package).

    python tests/fuzz/opened.py

The sample, each layer format and each hostile file is read in an armed process under strace. A file may be opened when
it is named, a listed part or sidecar of a named one (docs/security.md), belongs to the installation or the system's
libraries, or lies in the run's own temporary folder. The network calls are listed too: there may be none but those of
this machine's own sockets to itself that never leave it.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tempfile
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parent / "reading")]

PARTS = (".shx", ".dbf", ".prj", ".cpg", ".ovr", ".aux.xml", ".aux", ".tfw", ".tifw", ".wld", ".sbn", ".qix")
INSTALLED = tuple(
    str(Path(place).resolve())
    for place in {*sysconfig.get_paths().values(), sys.prefix, sys.base_prefix, HERE.parents[1], "/usr", "/lib", "/etc"}
)
SYSTEM = ("/proc/", "/sys/", "/dev/null", "/dev/urandom", "/dev/shm", "/dev/tty")
COMPILED = os.environ.get("NUMBA_CACHE_DIR", "__pycache__")  # where the compiler keeps what it made
OPENED = re.compile(r'open(?:at)?\((?:AT_FDCWD, )?"([^"]+)", ([A-Z_|]+)[^)]*\) = (\d+)')
NETWORK = re.compile(r"(connect|sendto)\(\d+, \{sa_family=AF_INET6?.*")


def traced(command: list[str], log: Path) -> Iterator[tuple[str, str]]:
    """Each file opened with its flags, and each call of the network as ``("network", …)``."""
    subprocess.run(
        ["strace", "-f", "-qq", "-e", "trace=open,openat,connect,sendto", "-o", log, *command],
        check=False, capture_output=True,
    )  # fmt: skip
    for line in log.read_text(errors="replace").splitlines():
        if (opened := OPENED.search(line)) is not None:
            yield opened[1], opened[2]
        elif NETWORK.search(line):
            yield "network", line


def allowed(path: str, flags: str, named: set[str], temporary: str) -> bool:
    """Tell whether a run may open a file so."""
    writes = "O_WRONLY" in flags or "O_RDWR" in flags or "O_CREAT" in flags
    real = str(Path(path).resolve())
    if path.startswith(SYSTEM) or real.startswith(temporary) or COMPILED in real:
        return True
    if "O_DIRECTORY" in flags and not writes:  # a folder's list of names
        return True
    if writes:
        return False
    if real in named or any(real.startswith(f"{name}/") for name in named if name.endswith(".gdb")):
        return True
    stems = {str(Path(name).with_suffix("")) for name in named} | named
    if any(real.lower() == f"{stem}{part}".lower() for stem in stems for part in PARTS):
        return True
    return real.startswith(INSTALLED)


def main() -> int:
    if shutil.which("strace") is None:
        sys.exit("strace is not installed: apt-get install strace")
    from hostile_files import OPENED as HARMLESS
    from hostile_files import RASTERS, VECTORS, Scene
    from layer_scene import flat

    wrong = []
    with tempfile.TemporaryDirectory(prefix="opened-") as made:
        top = Path(made).resolve()
        (top / "tmp").mkdir()
        secret = flat(top / "secret.tif", 4321.0, half=200.0, cell=20.0)
        cases = {}
        for sort, table in (("raster", RASTERS), ("vector", VECTORS), ("vector", HARMLESS)):
            for number, (name, make) in enumerate(table.items()):
                folder = top / f"{sort}{len(cases)}-{number}"
                folder.mkdir()
                cases[name] = (sort, str(make(Scene(folder, 9, secret))))
        (top / "cases.json").write_text(json.dumps(cases))
        named = {str(Path(path)) for _, path in cases.values()} | {str(top / "cases.json")}
        # a mosaic names its files, as far as they lie in its folder
        named |= {str(file) for file in top.glob("raster*/*.[tv][ir][ft]") if not file.is_symlink()}
        script = HERE.parent / "reading" / "try_hostile.py"
        environment = ["env", f"TMPDIR={top / 'tmp'}", "PYTHONDONTWRITEBYTECODE=1"]
        for path, flags in traced([*environment, sys.executable, str(script), str(top)], top / "log"):
            if path == "network" or not allowed(path, flags, named, str(top / "tmp")):
                wrong.append(f"hostile: {path} {flags}")
        sample = HERE.parents[1] / "sample_geo"
        out = top / "tmp" / "out"
        code = "from diproute.cli import main; main()"
        command = [*environment, sys.executable, "-c", code, "plan", str(sample / "incident.toml"), "--out", str(out)]
        for path, flags in traced(command, top / "log"):
            if path == "network" or not allowed(path, flags, set(), str(top / "tmp")):
                wrong.append(f"sample: {path} {flags}")
    for line in sorted(set(wrong)):
        print(line)
    print(f"{len(cases)} hostile files and the sample: {len(set(wrong))} files that should not have been opened")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
