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
SORTIE = ("tests/sortie/test_fill_and_fuel.py", "tests/sortie/test_fuel_cycle.py", "tests/laws/test_part_fill.py")
LAST_LOAD = ("tests/laws/test_last_load.py", "tests/laws/test_slow_parts.py")
CLEARANCE = ("tests/sites/test_clearance.py", "tests/sites/test_three_places.py")
PLANS = ("tests/planning/test_refusals.py", "tests/planning/test_laws.py")
HOURS = ("tests/laws/test_gusts.py", "tests/planning/test_hours.py")
LEVELS = ("tests/reading/test_water_level.py",)
REPORTS = ("tests/reading/test_weather.py", "tests/test_published_metar.py")
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
    Target("diproute/sortie/rig.py", ("*",), ("tests/sortie/test_load.py", *SORTIE)),
    Target(
        "diproute/sortie/load.py",
        (
            "Place.limit_kg",
            "lifting_limit",
            "load_sheet",
            "_Power.of",
            "_carry",
            "_setting_governs",
            "_shown",
            "_check",
        ),
        ("tests/sortie/test_load.py", "tests/test_published_load.py", "tests/sortie/test_fuel_cycle.py"),
    ),
    Target("diproute/sortie/cycle.py", ("*",), ("tests/sortie/test_cycle.py", *LAST_LOAD)),
    Target("diproute/sortie/fill_and_fuel.py", ("tabulate", "pick"), SORTIE),
    Target("diproute/sortie/fuel_cycle.py", ("site_terms", "best", "_sortie", "_check"), SORTIE),
    Target("diproute/sortie/duty.py", ("duty_left", "sorties_left"), ("tests/sortie/test_duty.py",)),
    Target(
        "diproute/sites/rules.py",
        ("ClearanceRules.__post_init__", "ClearanceRules.from_limits"),
        (*CLEARANCE, "tests/laws/test_vertical_error.py"),
    ),
    Target(
        "diproute/sites/clearance.py",
        (
            "prepare",
            "Sweeper.__init__",
            "Sweeper.sweep",
            "Sweeper.hover_room",
            "Sweeper.lifts",
            "Sweeper.lift",
            "Sweeper.line",
            "_along",
        ),
        CLEARANCE,
    ),
    Target("diproute/sites/clearance_kernel.py", ("sweep", "hover_room", "_line_at", "_touches"), CLEARANCE),
    Target("diproute/sites/surfaces.py", ("*",), (*CLEARANCE, "tests/test_published_surfaces.py")),
    Target(
        "diproute/sites/approach.py",
        ("open_of", "approach_of", "open_sectors", "width", "_refusal", "_one_way"),
        ("tests/sites/test_three_places.py", "tests/laws/test_gusts.py"),
    ),
    Target("diproute/sites/wind_rules.py", ("*",), ("tests/sites/test_wind_rules.py", "tests/laws/test_gusts.py")),
    Target("diproute/sites/people.py", ("*",), ("tests/sites/test_people.py",)),
    Target("diproute/sites/candidates.py", ("spread", "_measured", "_levels"), ("tests/sites/test_candidates.py",)),
    Target("diproute/routing/floor.py", ("disk_reach", "spread_top", "coarsen"), ("tests/routing/test_floor.py",)),
    Target("diproute/routing/floor_kernel.py", ("spread_rows",), ("tests/routing/test_floor.py",)),
    Target(
        "diproute/routing/airspace.py",
        ("RouteRules.of", "covered", "prepare", "grown", "passes_under"),
        ("tests/routing/test_floor.py", "tests/routing/test_blocked.py", "tests/laws/test_vertical_error.py"),
    ),
    Target(
        "diproute/routing/blocked.py",
        ("*",),
        ("tests/routing/test_blocked.py", "tests/planning/test_refusals.py"),
    ),
    Target("diproute/reading/raising.py", ("*",), ("tests/reading/test_obstacles.py", "tests/reading/test_ground.py")),
    Target("diproute/records/seen.py", ("*",), ("tests/records/test_seen.py", *LEVELS)),
    Target(
        "diproute/reading/water_level.py",
        ("_with_level", "_many", "_known", "_of_many", "_shore_below", "_of_few"),
        LEVELS,
    ),
    Target("diproute/reading/cross_checks.py", ("*",), ("tests/reading/test_cross_checks.py",)),
    Target("diproute/reading/metar.py", ("*",), REPORTS),
    Target("diproute/reading/taf.py", ("*",), REPORTS),
    Target("diproute/reading/weather.py", ("*",), REPORTS),
    Target(
        "diproute/planning/sun.py",
        ("daylight", "_is_up", "_crossing", "darkness", "glare"),
        ("tests/planning/test_sun.py",),
    ),
    Target(
        "diproute/planning/scenarios.py",
        ("best_loads", "_ferry", "_some", "_chart", "_readings", "_drop_bottom"),
        (*LAST_LOAD, *HOURS),
    ),
    Target("diproute/planning/lines.py", ("line_refusal", "compare_lines"), PLANS),
    Target("diproute/planning/ranking.py", ("point_cautions", "depth_refusal", "no_power_in_hand", "ordered"), PLANS),
    Target(
        "diproute/planning/assessment.py",
        ("fly_sites", "_refused", "_cautions", "_work_loads", "_fly", "shortest_line"),
        ("tests/laws/test_last_load.py", "tests/laws/test_gusts.py", *PLANS),
    ),
    Target("diproute/planning/scenario_flights.py", ("_Again.site", "_Again._round", "_closed"), (*LAST_LOAD, *HOURS)),
    Target("diproute/planning/air.py", ("air_at_heights", "one_air"), ("tests/planning/test_air.py",)),
)

# mistakes that change no answer, by module: the line as it then reads, and why it may
HARMLESS: dict[str, dict[str, str]] = {
    "diproute/physics/atmosphere.py": {
        "- 1.3816e-7 * ((10 ** (11.344 * (1 - 1 / steam)) + 1))": "less than a millionth of the vapour pressure",
        "- 1.3816e-7 * ((10 ** (11.344 * (1 - 1 / steam))))": "less than a millionth of the vapour pressure",
        "- 1.3816e-7 * (10 ** (11.344 * (1 - 1 / steam)) - (2))": "less than a millionth of the vapour pressure",
        "return plain(np.where((altitude >= _TROPOPAUSE_M), np.nan, altitude))": "one altitude, known or not",
    },
    "diproute/sortie/hover_chart.py": {
        "upper = np.clip((np.searchsorted(temperatures, temperature)), 0, len(temperatures) - 1)": "the default side",
        "lower = (upper - 1)": "on the coldest curve no other has a say",
    },
    "diproute/sortie/load.py": {
        "least = (min(rooms, key=lambda name: rooms[name]))": "the hover limit stands first, and nothing is below NaN",
        "return (max(mass_kg, 0.0))": "of NaN and 0 the first",
        "if (margin > -GRAIN_KG):": "a microgram",
        "if np.isnan(lift.room_kg) or (lift.water_kg <= lift.setting * full - GRAIN_KG):": "a microgram",
        "if np.isnan(lift.room_kg) or lift.water_kg < (lift.setting * full):": "what is carried is that very product",
        "return not higher or (lift.room_kg > min(higher) * full - GRAIN_KG)": "a microgram",
        "return not higher or lift.room_kg >= (min(higher) * full + GRAIN_KG)": "a microgram",
        "return not higher or lift.room_kg >= (min(higher) * full)": "a microgram",
        "if (fuel_kg >= tank + GRAIN_KG):": "a microgram",
        "if fuel_kg > (tank):": "a microgram",
    },
    "diproute/records/ground.py": {"flat = top.reshape(-(2))": "any length below 0 is what is left"},
}
