"""The invented plans, each composed once; a part is changed by ``part.model_copy(update={…})``."""

from __future__ import annotations

from functools import cache
from typing import Any

from outlook_fixture import full_plan
from plan_fixture import make_plan

from diproute.document import Plan, Site


@cache
def plain(**given: Any) -> Plan:
    """The plan of `plan_fixture.make_plan`."""
    return make_plan(**given)


@cache
def full(**given: Any) -> Plan:
    """The plan of `outlook_fixture.full_plan`."""
    return full_plan(**given)


def changed(part: Any, **more: Any) -> Any:
    """The part with some of its fields changed."""
    return part.model_copy(update=more)


def with_sites(plan: Plan, *sites: Site) -> Plan:
    """The plan with other sites, ranked anew, and nothing that speaks of those that it had."""
    ranked = [site for site in sites if site.rank is not None]
    told = [changed(site, rank=n) for n, site in enumerate(ranked, start=1)]
    told += [site for site in sites if site.rank is None]
    return changed(plan, sites=tuple(told), day=None, doubt=None, fleet=None, duty=None, what_if=None)
