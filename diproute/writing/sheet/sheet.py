"""``sheet.pdf``: the map on one page at a round scale, with its place on the ground in the file."""

from __future__ import annotations

from typing import Final

from diproute.document.plan import Plan
from diproute.units import show, show_course, unit_name
from diproute.wording import label
from diproute.writing.cautions import CAUTIONS, INVENTED
from diproute.writing.sheet.frame import SheetFrame, fit
from diproute.writing.sheet.georeference import georeferenced
from diproute.writing.sheet.picture import LEGS_SHOWN, north, picture, scale_bar
from diproute.writing.typeset import called, on_paper, typeset

PAPERS: Final[dict[str, tuple[float, float]]] = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}  # [mm]
MARGIN_MM: Final = 12.0
HEAD_MM: Final = 17.0
FOOT_MM: Final = 47.0

KEY: Final = (
    ("disc", "suitable dip site, with its rank; +2: two more so near"),
    ("hollow", "unsuitable dip site, and why"),
    ("loaded", f"loaded leg of the first {LEGS_SHOWN} sites"),
    ("empty", f"empty leg of the first {LEGS_SHOWN} sites"),
    ("other", "loaded leg of another site"),
    ("wire", "wire"),
    ("obstacle", "obstacle, height above ground"),
    ("area", "closed to a load; light hatch: at a price"),
    ("water", "water in use; dashed: left out"),
)


def sheet(plan: Plan, paper: str) -> bytes:
    """Give the map sheet.

    Parameters
    ----------
    plan
        The plan.
    paper
        A key of `PAPERS`.

    Returns
    -------
    bytes
        A geospatial PDF, the same for the same plan.

    Raises
    ------
    OutputError
        What PDFs need is not installed.
    """
    wide, high = PAPERS[paper]
    frame = fit(plan, wide - 2 * MARGIN_MM, high - 2 * MARGIN_MM - HEAD_MM - FOOT_MM)
    top = MARGIN_MM + HEAD_MM
    made = typeset("sheet/sheet.typ", _data(plan, frame, paper, top))
    return georeferenced(made, frame, MARGIN_MM, top, plan.run)


def _data(plan: Plan, frame: SheetFrame, paper: str, top_mm: float) -> dict[str, object]:
    air, display = plan.air, plan.display
    gust = "" if air.gust_m_s is None else f", gusts {show(air.gust_m_s, 'wind', display)}"
    zone = "UPS" if frame.epsg in (32661, 32761) else f"UTM zone {frame.epsg % 100}{'N' if frame.epsg < 32700 else 'S'}"
    side = "E" if plan.declination_deg >= 0 else "W"
    return {
        "title": called(plan.title),
        "run": plan.run or "",
        "paper": paper,
        "invented": INVENTED if plan.invented else "",
        "caution": " ".join(" ".join(part) for part in CAUTIONS[:3]),
        "when": when(plan),
        "wind": f"wind from {show_course(air.wind_from_deg)} true {show(air.wind_m_s, 'wind', display)}{gust}",
        "projection": f"WGS 84, {zone}, grid in km; heights in {unit_name('height', display)} "
        f"{label('altitude', display)} ({plan.ground.vertical_datum}), obstacles above ground in brackets",
        "declination": f"Declination {abs(plan.declination_deg):.1f}° {side} ± {plan.declination_sigma_deg:.1f}°, "
        f"{plan.declination_date:%-d %b %Y}",
        "scale": f"1:{frame.scale:,}".replace(",", "\u202f"),
        "made_with": plan.made_with,
        "left_mm": MARGIN_MM,
        "top_mm": top_mm,
        "width_mm": frame.width_mm,
        "height_mm": frame.height_mm,
        "map": on_paper(picture(plan, frame)),
        "map_alt": f"Map of {len(plan.suitable)} suitable dip sites with their legs, wires, obstacles and closed areas",
        "bar": on_paper(scale_bar(plan, frame)),
        "north": on_paper(north(plan, frame)),
        "north_alt": f"Arrows of true, grid and magnetic north; magnetic is {plan.declination_deg:.1f}° from true",
        "key": [{"sign": sign, "text": text} for sign, text in KEY],
    }


def when(plan: Plan) -> str:
    """Print the plan's time with its offset: ``"14 August 2026, 15:00 (UTC−10:00)"``."""
    text = f"{plan.when:%z}"
    return f"{plan.when:%-d %B %Y, %H:%M} (UTC{f'{text[:3]}:{text[3:5]}'.replace('-', '−')})"
