"""What a changed incident changes in its plan, water by water: the first place, the rates, what opens and closes.

Two plans of one incident look at other points of a water where another is the better one, so waters are compared, each
by its best suitable site.
"""

from __future__ import annotations

from typing import Any, Final

from diproute.document import Finding, Plan, Site

SAME_SHARE: Final = 0.001  # of the water an hour: a smaller move is none


def tell(before: Plan, after: Plan) -> tuple[Finding, ...]:
    """Tell what one plan has otherwise than another.

    Parameters
    ----------
    before, after
        Of the incident as it stands, and of the changed one.

    Returns
    -------
    tuple of Finding
        Who is first, what the waters bring that both plans can use, what opens, what closes; ``nothing-moves`` alone
        where the numbers stay.
    """
    old, new = _best(before), _best(after)
    names = {site.water_id: site.water for plan in (before, after) for site in plan.sites}
    moved = [found for water in new if water in old for found in _moves(names[water], old[water], new[water])]
    opened = [
        _found(
            "site-opens", site=names[water], litres_per_hour=_litres(new[water]), why=_why(before, water)
        )
        for water in new
        if water not in old
    ]  # fmt: skip
    closed = [_found("site-closes", site=names[water], why=_why(after, water)) for water in old if water not in new]
    first = _first(old, new, names, after)
    if not moved and not opened and not closed and (first is None or first.code == "first-stays"):
        return (_found("nothing-moves"),)
    return (*(() if first is None else (first,)), *moved, *opened, *closed)


def _best(plan: Plan) -> dict[str, Site]:
    """Give the best suitable site of every water, in the order of the plan."""
    found: dict[str, Site] = {}
    for site in plan.suitable:
        found.setdefault(site.water_id, site)
    return found


def _first(old: dict[str, Site], new: dict[str, Site], names: dict[str, str], after: Plan) -> Finding | None:
    """Say who is first now; None where nobody was and nobody is."""
    was, now = next(iter(old), None), next(iter(new), None)
    if now is None:
        return None if was is None else _found("none-any-more")
    if was is None:
        return _found("first-at-all", site=names[now])
    if was == now:
        return _found("first-stays", site=names[now])
    why = _why(after, was) if was not in new else tuple(_moves(names[was], old[was], new[was]))
    return _found("first-instead", site=names[now], before=names[was], why=why or None)


def _moves(name: str, before: Site, after: Site) -> list[Finding]:
    """Say how the water an hour, the setting and the line of a water move."""
    was, now = _litres(before), _litres(after)
    fills = [None if site.load is None else site.load.fill for site in (before, after)]
    lines = [site.line.carried_m for site in (before, after)]
    same_fill, same_line = fills[0] == fills[1], lines[0] == lines[1]
    if same_fill and same_line and was is not None and now is not None and abs(now - was) <= SAME_SHARE * was:
        return []
    return [
        _found(
            "rate-moves",
            site=name,
            before_litres_per_hour=was,
            litres_per_hour=now,
            fill_before=None if same_fill else fills[0],
            fill=None if same_fill else fills[1],
            line_before_m=None if same_line else lines[0],
            line_m=None if same_line else lines[1],
        )
    ]


def _litres(site: Site) -> float | None:
    return None if site.sortie is None else site.sortie.litres_per_hour


def _why(plan: Plan, water: str) -> tuple[Finding, ...] | None:
    """Give what a plan has against a water; None: it did not look at it."""
    refused = next((site.refused for site in plan.sites if site.water_id == water and site.refused), ())
    return tuple(refused) or None


def _found(code: str, **values: Any) -> Finding:
    return Finding(code=code, values=values)
