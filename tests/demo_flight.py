"""The demo light helicopter of the incident format's page, built as records, with a chart that follows sigma^(1/3).

Invented numbers; not a real type.
"""

from dataclasses import replace

import numpy as np

from diproute.physics.atmosphere import air_density, standard_pressure
from diproute.records import Bucket, Helicopter, HoverChart, HoverCurve, Line
from diproute.sortie.rig import Rig, Task
from diproute.units import parse

FT, KT, FPM, L_H = 0.3048, 1852 / 3600, 0.3048 / 60, 0.8 / 3600  # L/h of a fuel of 0.8 kg/L -> kg/s
ALTITUDES_M = tuple(1000.0 * FT * n for n in range(-2, 15, 2))
TEMPERATURES_K = tuple(273.15 + t for t in (-20.0, -10.0, 0.0, 10.0, 20.0, 30.0, 40.0, 50.0))
SEA_LEVEL_KG = 2900.0
FRESH = 0.9991


def constant_power_chart(altitudes_m=ALTITUDES_M, temperatures_k=TEMPERATURES_K, cap_kg=np.inf) -> HoverChart:
    heights = np.array(altitudes_m)
    return HoverChart(
        tuple(
            HoverCurve(
                t,
                tuple(altitudes_m),
                tuple(
                    np.minimum(
                        SEA_LEVEL_KG * (air_density(standard_pressure(heights), t) / 1.225) ** (1 / 3), cap_kg
                    ).tolist()
                ),
            )
            for t in temperatures_k
        )
    )


LIGHT = Helicopter(
    name="Demo light",
    source="made up for the demo; not a real type",
    type=3,
    rotor_diameter_m=10.7,
    equipped_kg=1300.0,
    max_gross_external_kg=2750.0,
    hook_limit_kg=1200.0,
    weight_reduction_kg=60.0,
    fuel_capacity_l=540.0,
    fuel_density_kg_l=0.8,
    burn_hover_kg_s=190 * L_H,
    burn_loaded_kg_s=180 * L_H,
    burn_empty_kg_s=165 * L_H,
    speed_loaded_m_s=80 * KT,
    speed_empty_m_s=95 * KT,
    climb_loaded_m_s=500 * FPM,
    climb_empty_m_s=1200 * FPM,
    descent_loaded_m_s=500 * FPM,
    descent_empty_m_s=800 * FPM,
    lift_speed_m_s=1.5,
    lower_speed_m_s=2.0,
    manoeuvre_s=45.0,
    hoge=constant_power_chart(),
)
BUCKET = Bucket("Demo 820", "made up for the demo", 820.0, 70.0, 4.5, 1.5, (1.0, 0.9, 0.8, 0.7, 0.6), 25.0, 8.0)
NO_LINE = Line(0.0)
LONG_LINE = Line(parse("125 ft", "length", "test"), 22.9, 7.6)  # 0.6 kg/m, 0.2 s/m
CREW_KG = 95.0
RIG = Rig(LIGHT, BUCKET, LONG_LINE, CREW_KG)
TASK = Task(FRESH, 1200.0)


def changed(record, **changes):
    """A record with some of its fields replaced: those of these changes that it has."""
    return replace(record, **{name: value for name, value in changes.items() if name in record.__slots__})
