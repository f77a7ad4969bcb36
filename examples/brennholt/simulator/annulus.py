"""Grout round the rings behind the tail: it follows the stroke, at the place of the outlet."""

from dataclasses import dataclass

import numpy as np
from examples.brennholt.shields import EarthPressureShield
from examples.brennholt.simulator.met import Voids
from examples.brennholt.simulator.noise import slow_noise
from numpy.typing import NDArray

Array = NDArray[np.float64]

PORT_SHARE = (0.26, 0.24, 0.24, 0.26)
REST_SHARE = 0.75
SETTLING_S = 1200.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grouting:
    """Grout of one push at its knots.

    Parameters
    ----------
    outlet_chainage_m, volume_m3 : place of the outlet and grout gone in since the start of the push.
    port_volume_m3, port_pressure_kpa : shape (knots, ports).
    hollow_m3 : the part that went into hollows.
    """

    outlet_chainage_m: Array
    volume_m3: Array
    port_volume_m3: Array
    port_pressure_kpa: Array
    hollow_m3: float

    def rest_pressure_kpa(self, after_s: Array) -> Array:
        """Return the pressure at every port after times of standing: it settles to a share of what it was."""
        fallen = 1.0 - (1.0 - REST_SHARE) * (1.0 - np.exp(-after_s / SETTLING_S))
        return self.port_pressure_kpa[-1] * fallen[:, None]


def pace_limit_m_s(shield: EarthPressureShield, volume_m3: float, stroke_m: float, pump_share: float) -> float:
    """Return the speed at which the pumps can just deliver the grout of a push."""
    return pump_share * shield.grout_pump_capacity_m3_h / 3600.0 * stroke_m / volume_m3


def grouting_of(
    shield: EarthPressureShield, time_s: Array, outlet_chainage_m: Array, planned_m3: float, target_kpa: float, voids: Voids, start_kpa: Array,
    generator: np.random.Generator,
) -> Grouting:  # fmt: skip
    """Return the grout of a push.

    Parameters
    ----------
    planned_m3 : of the plan for this push; the crew meets it within some per cent.
    target_kpa : at the crown.
    start_kpa : at every port when the push begins.
    """
    travel = outlet_chainage_m - outlet_chainage_m[0]
    pace = np.clip((1.0 + 0.025 * generator.standard_normal()) * (1.0 + 0.04 * slow_noise(generator, len(travel) - 1, 0.95)), 0.7, 1.3)
    planned = planned_m3 / travel[-1] * pace * np.diff(travel)
    hollow = np.diff(voids.grout_m3(outlet_chainage_m))
    volume = np.concatenate([[0.0], np.cumsum(planned + hollow)])
    share = np.array(PORT_SHARE) * (1.0 + 0.05 * generator.standard_normal(len(PORT_SHARE)))
    angles = np.radians([angle for _, angle in shield.grout_ports])
    depth = shield.excavation_diameter_m / 2 * (1.0 - np.cos(angles))
    # Where grout runs into a hollow, the pressure falls.
    slack = 45.0 * np.concatenate([[0.0], hollow / np.maximum(planned + hollow, 1e-9)])
    noise = np.stack([9.0 * slow_noise(generator, len(travel), 0.9) for _ in angles], axis=1)
    pumped = target_kpa + shield.grout_unit_weight_kn_m3 * depth - slack[:, None] + noise
    onset = np.minimum(time_s / 60.0, 1.0)[:, None]
    return Grouting(
        outlet_chainage_m=outlet_chainage_m,
        volume_m3=volume,
        port_volume_m3=volume[:, None] * share / share.sum(),
        port_pressure_kpa=start_kpa + onset * (pumped - start_kpa),
        hollow_m3=float(hollow.sum()),
    )
