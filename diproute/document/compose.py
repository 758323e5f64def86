"""From what the stages of the planning left to the plan as a document."""

from __future__ import annotations

from diproute import records
from diproute.document import compose_asked as asked
from diproute.document import compose_ground as ground
from diproute.document import compose_outlook as outlook
from diproute.document.compose_legs import Ferries
from diproute.document.compose_site import compose_site
from diproute.document.compose_what_if import what_if
from diproute.document.defaults import defaults
from diproute.document.findings import findings
from diproute.document.plan import FORMAT, Plan
from diproute.document.run import sealed
from diproute.document.terrain import terrain
from diproute.physics.geodesy import LocalFrame


def compose(assessed: records.Assessed) -> Plan:
    """Make the plan: all that a map, a brief, an exchange file or a neighbour needs.

    Parameters
    ----------
    assessed
        What the planning found.

    Returns
    -------
    Plan
        The same for the same input: there is no clock, random number or file time in it. Numbers are rounded to what
        they are worth, pictures over ground to the safe side. It carries the id of its run.
    """
    incident = assessed.incident
    frame = LocalFrame(assessed.ground.grid.lat_deg, assessed.ground.grid.lon_deg)
    ferries = Ferries(frame)
    sites = tuple(compose_site(site, assessed, ferries) for site in assessed.sites)
    plan = Plan(
        format=FORMAT,
        title=incident.title,
        invented=incident.invented,
        made_with=assessed.made_with,
        when=incident.when,
        display=incident.display,
        air=asked.air(incident.weather),
        declination_deg=assessed.declination_deg,
        declination_sigma_deg=assessed.declination_sigma_deg,
        declination_date=incident.when.date(),
        drops=asked.drops(incident),
        base=asked.base(incident.base),
        helicopter=asked.helicopter(incident.helicopter, incident.count, incident.crew_kg, incident.fuel),
        bucket=asked.bucket(incident.bucket, incident.fill),
        more=asked.more(incident),
        duty_so_far=asked.duty_so_far(incident.duty),
        lines=asked.lines(incident.lines),
        limits=asked.limits(incident),
        search=asked.search(incident, frame),
        defaults=defaults(assessed),
        layers=ground.layers(assessed.ground.layers),
        ground=ground.ground(assessed.ground),
        terrain=terrain(assessed, frame),
        waters=ground.waters(assessed.waters, frame),
        left_out=ground.left_out(assessed.left_out, frame),
        obstacles=ground.obstacles(assessed.ground.obstacles, frame),
        avoid=ground.areas(assessed.avoid, frame),
        cautions=findings(assessed.cautions),
        day=outlook.day(assessed),
        doubt=outlook.doubt(assessed),
        fleet=outlook.fleet(assessed),
        duty=outlook.duty(assessed),
        what_if=what_if(assessed),
        ferries=tuple(ferries.legs.values()),
        sites=sites,
    )
    return sealed(plan)
