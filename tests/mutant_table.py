"""What `mutants.py` breaks: the functions on which somebody's safety hangs, and the tests that must notice."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Target:
    """Functions of one module, and the tests to run on each mistake, quickest first."""

    module: str
    functions: tuple[str, ...]
    tests: tuple[str, ...]


AIR = ("tests/physics/test_atmosphere.py", "tests/test_published_atmosphere.py")
TARGETS = (
    Target("diproute/physics/ranges.py", ("*",), ("tests/physics/test_ranges.py", *AIR)),
    Target("diproute/physics/atmosphere.py", ("*",), AIR),
    Target("diproute/physics/wind.py", ("*",), ("tests/physics/test_wind.py", "tests/test_published_wind.py")),
    Target(
        "diproute/records/ground.py",
        ("Grid.rowcol", "Grid.holds", "Grid.xy", "Ground.with_wire_margin"),
        ("tests/records", "tests/sites/test_clearance.py"),
    ),
    Target("diproute/sortie/hover_chart.py", ("hover_limit", "_check"), ("tests/sortie/test_hover_chart.py",)),
)

# mistakes that change no answer, by module: the line as it then reads, and why it may
HARMLESS: dict[str, dict[str, str]] = {
    "diproute/physics/atmosphere.py": {
        "- 1.3816e-7 * ((10 ** (11.344 * (1 - 1 / steam)) + 1))": "less than a millionth of the vapour pressure",
        "- 1.3816e-7 * ((10 ** (11.344 * (1 - 1 / steam))))": "less than a millionth of the vapour pressure",
        "- 1.3816e-7 * (10 ** (11.344 * (1 - 1 / steam)) - (2))": "less than a millionth of the vapour pressure",
        "return plain(np.where((altitude >= _TROPOPAUSE_M), np.nan, altitude))": "one altitude, known or not",
    },
}
