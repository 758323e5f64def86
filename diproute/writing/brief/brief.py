"""``brief.pdf`` and ``kneeboard.pdf``: what a crew carries on paper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from diproute.document.plan import Plan
from diproute.document.site import Site
from diproute.errors import QuantityError
from diproute.writing.brief.check_lists import check_lists
from diproute.writing.brief.incident import incident_data
from diproute.writing.brief.site import site_data, units_of
from diproute.writing.cautions import CAUTIONS, INVENTED
from diproute.writing.sheet.frame import fit
from diproute.writing.sheet.picture import picture
from diproute.writing.sheet.sheet import PAPERS, when
from diproute.writing.typeset import called, on_paper, typeset

FIRST: Final = 10  # sites of the brief when none are asked for
CARDS: Final = 3  # of the kneeboard
CARD_PAPERS: Final = {"a4": "a5", "us-letter": "us-statement"}  # half of each
_MAP_MM: Final = (88.0, 84.0)


def paper_of(plan: Plan) -> str:
    """Give the paper that the plan's reader has: US letter, or A4."""
    return "us-letter" if plan.display == "us" else "a4"


def brief(plan: Plan, sites: Sequence[Site] | None = None, paper: str | None = None) -> bytes:
    """Give the brief: a page for the incident, a page a site, the check lists, the cautions.

    Parameters
    ----------
    plan
        The plan.
    sites
        The sites that get a page; None: the first ten suitable ones.
    paper
        A key of `PAPERS`; None: the reader's.

    Returns
    -------
    bytes
        A tagged PDF, the same for the same input.

    Raises
    ------
    OutputError
        What PDFs need is not installed.
    """
    chosen = plan.suitable[:FIRST] if sites is None else sites
    frame = fit(plan, *_MAP_MM)
    data = _shared(plan, paper) | incident_data(plan)
    data |= {
        "map": on_paper(picture(plan, frame)),
        "map_alt": f"Map of {len(plan.suitable)} suitable dip sites",
        "scale": f"1:{frame.scale:,}".replace(",", "\u202f"),
        "sites": [site_data(site, plan) for site in chosen],
        "lists": _lists(plan, chosen),
    }
    return typeset("brief/brief.typ", data)


def kneeboard(plan: Plan, sites: Sequence[Site] | None = None, paper: str | None = None) -> bytes:
    """Give the cards for the knee, half the brief's paper: a page a site, as `brief` takes them."""
    chosen = plan.suitable[:CARDS] if sites is None else sites
    data = _shared(plan, paper) | {"sites": [site_data(site, plan) for site in chosen], "lists": _lists(plan, chosen)}
    data["paper"] = CARD_PAPERS[data["paper"]]
    return typeset("brief/kneeboard.typ", data)


def chosen_sites(plan: Plan, asked: Sequence[str]) -> tuple[Site, ...]:
    """Find the sites that were asked for by rank or id.

    Raises
    ------
    QuantityError
        No such site, or one that is refused: nobody briefs it as a place to fly to.
    """
    found = []
    for one in asked:
        site = next((s for s in plan.sites if one in (s.id, "" if s.rank is None else str(s.rank))), None)
        if site is None:
            ranks = f"1 to {len(plan.suitable)}" if plan.suitable else "none, for no site is suitable"
            raise QuantityError(
                f"no dip site {one!r} in this plan; give a rank ({ranks}) or an id", where="site", got=one
            )
        if not site.suitable:
            raise QuantityError(f"{site.name} is refused and gets no page: {site.refused[0].because}" if site.refused
                                else f"{site.name} is refused and gets no page", where="site", got=one)  # fmt: skip
        found.append(site)
    return tuple(found)


def _shared(plan: Plan, paper: str | None) -> dict[str, Any]:
    chosen = paper_of(plan) if paper is None else paper
    assert chosen in PAPERS
    return {
        "title": called(plan.title),
        "run": plan.run or "",
        "paper": chosen,
        "when": when(plan),
        "invented": INVENTED if plan.invented else "",
        "cautions_all": [{"head": head, "text": text} for head, text in CAUTIONS],
        "made_with": plan.made_with,
        "declination": f"{abs(plan.declination_deg):.1f}° {'E' if plan.declination_deg >= 0 else 'W'}",
        "datum": plan.ground.vertical_datum,
        "units": units_of(plan),
    }


def _lists(plan: Plan, chosen: Sequence[Site]) -> list[dict[str, Any]]:
    first = next(iter(chosen), None)
    return [
        {"title": one.title, "items": [{"text": item.text, "source": item.source} for item in one.items]}
        for one in check_lists(plan, first)
    ]
