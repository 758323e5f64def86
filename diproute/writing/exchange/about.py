"""What every exchange file says of itself: that data are invented, the caution, what counts from where, the run."""

from __future__ import annotations

from datetime import UTC

from diproute.document.plan import Plan
from diproute.errors import plain
from diproute.writing.cautions import CAUTIONS, INVENTED


def about(plan: Plan) -> str:
    """Give the words that stand at the head of a file."""
    parts = [INVENTED] if plan.invented else []
    parts.append(" ".join(CAUTIONS[0]))
    parts.append(f"WGS 84, heights above mean sea level (vertical datum: {plan.ground.vertical_datum}).")
    parts.append(f"For {moment(plan)}, {run(plan)}, made with {plan.made_with}.")
    return plain(" ".join(parts))


def moment(plan: Plan) -> str:
    """Give the plan's time in UTC (ISO 8601)."""
    return f"{plan.when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def run(plan: Plan) -> str:
    """Name the run that the file is of."""
    return f"run {plan.run or 'not known'}"
