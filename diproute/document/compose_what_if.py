"""The what-if grid in the document's shape: rounded to what it is worth, so that the file stays small."""

from __future__ import annotations

import numpy as np

from diproute import records
from diproute.document.findings import findings
from diproute.document.what_if import HundredthRow, WhatIf, WhatIfSite, WholeRow


def what_if(assessed: records.Assessed) -> WhatIf | None:
    """Give the what-if grid; None where no other weather changes a site."""
    told = assessed.what_if
    if told is None:
        return None
    return WhatIf(
        wind_from_deg=told.wind_from_deg,
        wind_m_s=told.wind_m_s,
        temperature_k=told.temperature_k,
        reasons=findings(told.reasons),
        sites=tuple(_site(assessed.sites[one.site].id, one) for one in told.sites),
    )


def _site(site: str, one: records.SiteWhatIf) -> WhatIfSite:
    return WhatIfSite(
        site=site,
        litres_per_hour=_whole(one.litres_per_hour),
        fill=_hundredth(one.fill),
        line_m=_hundredth(one.line_m),
        approach_deg=_whole(one.approach_deg % 360.0, most=359),
        departure_deg=_whole(one.departure_deg % 360.0, most=359),
        why=tuple(None if index < 0 else int(index) for index in one.why),
    )


def _whole(values: records.F64, most: int | None = None) -> WholeRow:
    """Round to whole numbers; a course that rounds to the full circle is 0."""
    row = [None if np.isnan(value) else round(float(value)) for value in values]
    return tuple(0 if most is not None and value is not None and value > most else value for value in row)


def _hundredth(values: records.F64) -> HundredthRow:
    return tuple(None if np.isnan(value) else round(float(value), 2) for value in values)
