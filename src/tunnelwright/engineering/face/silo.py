"""Vertical effective stress at the base of the ground column above the crown.

    q          surcharge
|-------|      ground or bed
|       |      layer 1, shear on the four walls carries a part of the weight:
|.......|      the narrower the column, the more
|       |      layer 2
|_______|      crown, sigma_silo = what is left, never below 0
  B x L
"""

from dataclasses import dataclass
from typing import Any, Final, Literal, Self

import numpy as np

from tunnelwright.engineering.face.declared import POSSIBLE, SYMBOLS, angle_in_radians, silo_remarks, thickness_given
from tunnelwright.engineering.face.sources import JANSSEN_1895
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Rows, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table

Arching = Literal["on", "off"]
# Where no exponential is taken the wall friction is too small to matter, and a division by zero is avoided.
_LEAST_EXPONENT: Final = 1e-30

_WITH_FRICTION: Final = (
    "max(0, (gamma' * {r} - c) / (K_1 * tan(phi)) * (1 - exp(-K_1 * tan(phi) * h / ({r}))) + previous * exp(-K_1 * tan(phi) * h / ({r})))"
    " if K_1 * tan(phi) > 1e-9 else max(0, previous + (gamma' - c / ({r})) * h)"
)


def silo_rows(hydraulic_radius: str, switch: bool = True) -> Rows:
    """Return how a silo stress follows layer by layer, for a printed hydraulic radius."""
    shear = _WITH_FRICTION.format(r=hydraulic_radius)
    return Rows("layers", "sigma_silo", f'({shear}) if arching == "on" else previous + gamma\' * h' if switch else shear, start="q")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiloLayers(Table):
    """Ground above the crown, top down; weight buoyant below the water table."""

    thickness_m: FloatArray
    effective_unit_weight_kn_m3: FloatArray
    cohesion_kpa: FloatArray
    friction_angle_rad: FloatArray
    lateral_coefficient: Number = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Silo:
    """The silo of many places, one row each, ready for any plan shape.

    Parameters
    ----------
    weight_kpa, cohesion_kn_m, friction_m : per layer gamma' h, c h and K1 tan(phi) h, each with the shape (places, 1).
    surcharge_kpa : shape (places, 1).
    arching : without it the weight comes down in full.
    """

    weight_kpa: tuple[FloatArray, ...]
    cohesion_kn_m: tuple[FloatArray, ...]
    friction_m: tuple[FloatArray, ...]
    surcharge_kpa: FloatArray
    arching: bool = True

    def rows(self, which: Any) -> Self:
        """Return the same for some of the places."""
        weight, cohesion, friction = (tuple(layer[which] for layer in values) for values in (self.weight_kpa, self.cohesion_kn_m, self.friction_m))
        return type(self)(weight, cohesion, friction, self.surcharge_kpa[which], self.arching)

    def stress(self, inverse_radius_1_m: FloatArray) -> FloatArray:
        """Return the stress at the base for one over the hydraulic radius, shape (places, shapes).

        A layer cannot pull down the one below it, so the stress is held at 0 at each layer's base.
        """
        stress = np.broadcast_to(self.surcharge_kpa, np.broadcast_shapes(self.surcharge_kpa.shape, inverse_radius_1_m.shape))
        if not self.arching:
            return stress + sum(self.weight_kpa) if self.weight_kpa else stress
        for weight, cohesion, friction in zip(self.weight_kpa, self.cohesion_kn_m, self.friction_m, strict=True):
            exponent = np.maximum(friction * inverse_radius_1_m, _LEAST_EXPONENT)
            lost = -np.expm1(-exponent)
            stress = np.maximum(0.0, (weight - cohesion * inverse_radius_1_m) * (lost / exponent) + stress * (1 - lost))
        return stress


def silo_of(layers: SiloLayers, surcharge_kpa: Number, places: tuple[int, ...], arching: Arching = "on") -> Silo:
    """Return the silo of all places in one row each; ``places`` is the shape that the leading axes broadcast to."""

    def per_layer(values: FloatArray) -> tuple[FloatArray, ...]:
        whole = np.broadcast_to(values, (*places, values.shape[-1])).reshape(-1, values.shape[-1])
        return tuple(whole[:, layer : layer + 1] for layer in range(whole.shape[1]))

    def times_thickness(values: FloatArray) -> tuple[FloatArray, ...]:
        return per_layer(np.where(layers.thickness_m == 0, 0.0, values * layers.thickness_m))

    return Silo(
        weight_kpa=times_thickness(layers.effective_unit_weight_kn_m3),
        cohesion_kn_m=times_thickness(layers.cohesion_kpa),
        friction_m=times_thickness(layers.lateral_coefficient * np.tan(layers.friction_angle_rad)),
        surcharge_kpa=np.broadcast_to(np.asarray(surcharge_kpa, dtype=np.float64), places).reshape(-1, 1),
        arching=arching == "on",
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiloStress(Record):
    """Stress that the ground column brings to the crown."""

    hydraulic_radius_m: FloatArray
    silo_stress_kpa: FloatArray


@method(
    "face.silo_stress.janssen_1895",
    formulas={"hydraulic_radius_m": Formula("R_s", "B * L / (2 * (B + L))")},
    found_by={"silo_stress_kpa": silo_rows("R_s")},
    symbols=SYMBOLS,
    possible=POSSIBLE | {"silo_width_m": (0.1, 1e9), "silo_length_m": (0.01, 1e9)},
    requires=(thickness_given("layers"), angle_in_radians("layers.friction_angle_rad")),
    remarks=silo_remarks(),
    kind="mean",
    source=JANSSEN_1895,
)
def janssen_silo(layers: SiloLayers, silo_width_m: Number, silo_length_m: Number, surcharge_kpa: Number = 0.0, arching: Arching = "on") -> SiloStress:
    """Return the vertical effective stress at the base of a column of ground that hangs on its walls.

    Parameters
    ----------
    layers : ground above the crown, top down.
    silo_width_m : across the drive.
    silo_length_m : along the drive.
    surcharge_kpa : effective, on the ground surface.
    arching : off brings the whole weight down, as over ground that has been loosened.

    Notes
    -----
    Downward seepage is put in by the caller as a greater effective unit weight, gamma' + i gamma_w.
    """
    width_m, length_m = np.asarray(silo_width_m, dtype=np.float64), np.asarray(silo_length_m, dtype=np.float64)
    places = np.broadcast_shapes(layers.thickness_m.shape[:-1], width_m.shape, length_m.shape, np.shape(surcharge_kpa))
    hydraulic_radius_m = np.broadcast_to(width_m * length_m / (2 * (width_m + length_m)), places)
    stress_kpa = silo_of(layers, surcharge_kpa, places, arching).stress(1 / hydraulic_radius_m.reshape(-1, 1))
    return SiloStress(hydraulic_radius_m=hydraulic_radius_m, silo_stress_kpa=stress_kpa.reshape(places))
