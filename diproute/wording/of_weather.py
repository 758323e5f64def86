"""Sentences about the weather and the light."""

from __future__ import annotations

from typing import Final

from diproute.wording.codes import Code, Codes

_HOUR: Final = "the plan's time; get a report of the hour"

CODES: Final[Codes] = {
    "warmest-of-the-forecast": Code(
        "the forecast's highest temperature is planned with, not the reported one",
        "planned with the forecast's highest temperature, {forecast_k:temperature}, not the {reported_k:temperature} "
        "reported",
    ),
    "report-of-another-time": Code(
        "the report is more than two hours from the plan's time",
        f"{{before:if}}{{report}} was made {{days:count day}} before {_HOUR}",
        f"{{before:if}}{{report}} was made {{apart_s:time}} before {_HOUR}",
        f"{{report}} was made {{days:count day}} after {_HOUR}",
        f"{{report}} was made {{apart_s:time}} after {_HOUR}",
    ),
    "wind-variable": Code(
        "the wind blows from no one direction",
        "the wind varies between {low_deg:course} and {high_deg:true}: planned from {from_deg:course}; "
        "every course is held against the whole of it",
        "the wind is variable at {speed_m_s:wind}: planned as calm, and on any course it may blow from behind",
    ),
    "wind-of-groups": Code(
        "groups of the report or forecast give the wind other directions, all of which count",
        "{anywhere:if}groups of these two hours give the wind quite other directions: planned from {from_deg:true}; "
        "every course is held against a wind from anywhere",
        "groups of these two hours give the wind from {low_deg:course} to {high_deg:true}: planned from "
        "{from_deg:course}; every course is held against the whole of it",
    ),
    "hours-without-temperature": Code(
        "the TAF gives no temperature, so that its hours are not planned",
        "the TAF gives no highest temperature (TX group), so no hour but the report's is planned; an hourly table "
        "gives them",
    ),
    "hours-left-out": Code(
        "hours of the TAF whose wind cannot be planned with",
        "the TAF's wind is variable and strong at {hours:list}: these hours are not planned",
    ),
    "station-off-ground": Code(
        "the weather's station is said to stand off the ground",
        "the weather's station is said to stand at {said_m:altitude}, the ground there is at {ground_m:altitude}",
    ),
    "station-not-compared": Code(
        "the weather's station lies where the ground is not known",
        "the weather's station lies where the ground is not known: its elevation could not be compared",
    ),
    "hour": Code("an hour of the day", "{at:clock}"),
    "hours-missing": Code(
        "rows of the hourly table that lie far apart",
        "{file} has no row between {start:clock} and {end:clock}: the weather in between is interpolated",
    ),
}
