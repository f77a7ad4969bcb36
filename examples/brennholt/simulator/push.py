"""One push: how the stroke grows, how the chamber is fed and emptied.

The push is known at knots five seconds apart and is linear between them, whatever the logger's step. Volumes and masses are differences between knots, so that
what goes in, what comes out and what stays in the chamber balance exactly.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from examples.brennholt.shields import EarthPressureShield
from examples.brennholt.simulator.noise import controlled_pressure_kpa, slow_noise
from numpy.typing import NDArray

Array = NDArray[np.float64]

KNOT_S: Final = 5.0
RAMP_UP_S, RAMP_DOWN_S = 45.0, 30.0
# The chamber comes back to its target over this much stroke after a stop.
RECOVERY_STROKE_M = 0.06
SLIP_SHARE = 0.06
# Of what the advance brings, at most this much may stay in the chamber: the screw cannot run backwards.
STORED_SHARE_MAX = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A halt within a push, after a share of its stroke."""

    at_share: float
    duration_s: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Advance:
    """Speed and stroke of the shield at the knots of one push, and the knots of each stretch without a halt."""

    time_s: Array
    speed_m_s: Array
    stroke_m: Array
    stretches: tuple[slice, ...]

    @property
    def net_s(self) -> float:
        """Return the time in which the shield advanced."""
        return float(sum((part.stop - part.start - 1) for part in self.stretches) * KNOT_S)

    @property
    def is_moving(self) -> NDArray[np.bool_]:
        """Return whether each interval between knots lies in a stretch of advance."""
        moving = np.zeros(len(self.time_s) - 1, dtype=bool)
        for part in self.stretches:
            moving[part.start : part.stop - 1] = True
        return moving


def advance_of(stroke_m: float, rate_m_s: float, stops: tuple[Stop, ...], generator: np.random.Generator) -> Advance:
    """Return an advance that makes exactly this stroke at about this rate."""
    shares = np.array([0.0, *(stop.at_share for stop in stops), 1.0])
    speeds: list[Array] = []
    stretches: list[slice] = []
    count = 0
    for number, share in enumerate(np.diff(shares)):
        speed = _stretch(stroke_m * float(share), rate_m_s, generator)
        stretches.append(slice(count, count + len(speed)))
        halt = np.zeros(round(stops[number].duration_s / KNOT_S) if number < len(stops) else 0)
        speeds += [speed, halt]
        count += len(speed) + len(halt)
    speed = np.concatenate(speeds)
    stroke = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2 * KNOT_S)])
    return Advance(time_s=np.arange(count) * KNOT_S, speed_m_s=speed, stroke_m=stroke, stretches=tuple(stretches))


def _stretch(length_m: float, rate_m_s: float, generator: np.random.Generator) -> Array:
    count = max(24, int(np.ceil((length_m / rate_m_s + (RAMP_UP_S + RAMP_DOWN_S) / 2) / KNOT_S)) + 1)
    time = np.arange(count) * KNOT_S
    ramp = np.minimum(1.0, np.minimum(time / RAMP_UP_S, (time[-1] - time) / RAMP_DOWN_S))
    shape = ramp * np.clip(1.0 + 0.07 * slow_noise(generator, count, 0.88), 0.5, 1.5)
    return shape * length_m / (shape.sum() * KNOT_S)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chamber:
    """Pressure at the axis at the knots of a push; volumes between knots.

    Parameters
    ----------
    cut_m3 : ground in place that the head cut, and what followed it into the chamber.
    excess_m3 : the part of it that lay outside the bore.
    stored_m3 : growth of the soil in the chamber while the shield moved.
    out_m3 : ground in place that left through the screw.
    """

    pressure_kpa: Array
    cut_m3: Array
    excess_m3: Array
    stored_m3: Array
    out_m3: Array


def softness_m3_kpa(shield: EarthPressureShield, pressure_kpa: float = 250.0) -> float:
    """Return the volume that the chamber takes per kilopascal: only its gas gives way."""
    return shield.chamber_volume_m3 * shield.gas_ratio / (pressure_kpa + 101.325)


def chamber_of(
    advance: Advance, shield: EarthPressureShield, cut_stroke_m: Array, start_kpa: float, target_kpa: float, loss_kpa_h: float,
    over_ratio: float, dip_kpa: float, generator: np.random.Generator,
) -> Chamber:  # fmt: skip
    """Return the chamber through one push.

    Parameters
    ----------
    cut_stroke_m : stroke at the knots that cut ground; less than the stroke after a fall-back.
    over_ratio : ground that came in beyond the bore, as a ratio of the bore's volume, over the whole push.
    dip_kpa : how far the pressure falls where most of it comes; 0 when the excess is spread evenly.
    """
    softness = softness_m3_kpa(shield)
    swell = _hump(cut_stroke_m) if dip_kpa > 0 else np.ones(len(cut_stroke_m))
    bore = shield.bored_area_m2 * np.diff(cut_stroke_m)
    hump = (swell[1:] + swell[:-1]) / 2
    excess = over_ratio * bore.sum() * hump * bore / max(float((hump * bore).sum()), 1e-12)
    cut = bore + excess
    flow = shield.bored_area_m2 * float(advance.speed_m_s.max())
    wandering = controlled_pressure_kpa(SLIP_SHARE * flow * slow_noise(generator, len(swell), 0.92), softness, KNOT_S) - dip_kpa * (
        swell if dip_kpa > 0 else 0.0
    )
    pressure = np.full(len(swell), start_kpa)
    moving = advance.is_moving
    most = STORED_SHARE_MAX * cut / softness
    for number, part in enumerate(advance.stretches):
        if number:
            halt = slice(advance.stretches[number - 1].stop - 1, part.start + 1)
            pressure[halt] = decayed_kpa(pressure[halt.start], advance.time_s[halt] - advance.time_s[halt.start], loss_kpa_h)
        away = pressure[part.start] - target_kpa - wandering[part.start]
        wanted = target_kpa + wandering[part] + away * np.exp(-(cut_stroke_m[part] - cut_stroke_m[part.start]) / RECOVERY_STROKE_M)
        rise = np.minimum(np.diff(wanted), most[part.start : part.stop - 1])
        pressure[part] = pressure[part.start] + np.concatenate([[0.0], np.cumsum(rise)])
    stored = np.where(moving, np.diff(pressure) * softness, 0.0)
    return Chamber(pressure_kpa=pressure, cut_m3=cut, excess_m3=excess, stored_m3=stored, out_m3=cut - stored)


def _hump(stroke_m: Array) -> Array:
    """Return a rise and fall of height 1 over the middle half of a push."""
    share = stroke_m / stroke_m[-1]
    return np.where((share > 0.28) & (share < 0.82), np.sin(np.pi * np.clip((share - 0.28) / 0.54, 0.0, 1.0)) ** 2, 0.0)


def decayed_kpa(start_kpa: float, after_s: Array, loss_kpa_h: float, floor_kpa: float | None = None) -> Array:
    """Return the pressure after times of standing: it leaks away, ever slower; at the floor the crew pumps bentonite until it is back."""
    reach_kpa = 0.22 * start_kpa
    relaxation_s = 3600.0 * reach_kpa / loss_kpa_h
    if floor_kpa is not None and start_kpa - reach_kpa < floor_kpa < start_kpa - 2.0:
        after_s = np.mod(after_s, -relaxation_s * np.log(1.0 - (start_kpa - floor_kpa) / reach_kpa))
    return start_kpa - reach_kpa * (1.0 - np.exp(-after_s / relaxation_s))
