"""Sliding wedge below a silo, integrated exactly over the layers of the face.

      | | | | |      silo
      v v v v v      sigma_silo
      +-------+      crown, depth 0
      |      /       layer 1
e --> |-----/        vertical stress s(depth), side shear on two triangles
      |    /         layer 2
      |___/ theta    toe, depth H

Everything that does not depend on the slip angle is gathered once per place and layer. With T = tan(theta), p = tan(phi) and the silo
stress sigma the horizontal force of a layer is

E_j = [ B (sigma a_j + b_j) (T - p_j) - sqrt(1 + T^2) (sigma t_j + k_j) - (1 + T^2) c_j B h_j ] / (T (1 + p_j T))

The weight of the layer, the difference of the vertical forces on its two faces and the shear on its sides are polynomials of the depth
and are integrated in closed form.
"""

from dataclasses import dataclass
from typing import Any, Literal, Self

import numpy as np

from tunnelwright.engineering.face.angle import ABOVE_FRICTION_RAD, FULL_SEARCH, STEEPEST_ANGLE_RAD, AngleSearch, angle_of_greatest
from tunnelwright.engineering.face.silo import Silo
from tunnelwright.vocabulary.types import FloatArray

SideStress = Literal["tapering", "full"]


@dataclass(frozen=True, slots=True, eq=False)
class FaceColumns:
    """Layers of the face of many places, shape (places, layers), with the width of the wedge and its side coefficient.

    Parameters
    ----------
    top_m, base_m : depth below the crown of the layers' edges.
    weight_kn_m3, cohesion_kpa, friction_rad : effective.
    side_coefficient : K2.
    width_m : of the wedge, shape (places, 1).
    """

    top_m: FloatArray
    base_m: FloatArray
    weight_kn_m3: FloatArray
    cohesion_kpa: FloatArray
    friction_rad: FloatArray
    side_coefficient: FloatArray
    width_m: FloatArray

    def rows(self, which: Any) -> Self:
        """Return the same for some of the places."""
        return type(self)(
            self.top_m[which],
            self.base_m[which],
            self.weight_kn_m3[which],
            self.cohesion_kpa[which],
            self.friction_rad[which],
            self.side_coefficient[which],
            self.width_m[which],
        )

    def upper(self, layer_count: int) -> Self:
        """Return the same for the uppermost layers alone."""
        return type(self)(
            self.top_m[:, :layer_count],
            self.base_m[:, :layer_count],
            self.weight_kn_m3[:, :layer_count],
            self.cohesion_kpa[:, :layer_count],
            self.friction_rad[:, :layer_count],
            self.side_coefficient[:, :layer_count],
            self.width_m,
        )

    @property
    def height_m(self) -> FloatArray:
        """Return the height of the wedge, shape (places, 1)."""
        return self.base_m[:, -1:]

    @property
    def least_friction_rad(self) -> FloatArray:
        """Return the least friction angle of the layers that are really there, shape (places,)."""
        return np.min(np.where(self.base_m <= self.top_m, np.inf, self.friction_rad), axis=1, initial=np.inf)

    def own_stress_kpa(self) -> tuple[FloatArray, FloatArray]:
        """Return the stress of the ground below the crown at top and base of each layer."""
        at_base = np.cumsum(self.weight_kn_m3 * (self.base_m - self.top_m), axis=1)
        return at_base - self.weight_kn_m3 * (self.base_m - self.top_m), at_base

    def silo_share(self, side_stress: SideStress) -> tuple[FloatArray, FloatArray]:
        """Return the share of the silo stress that acts at top and base of each layer."""
        if side_stress == "full":
            return np.ones_like(self.top_m), np.ones_like(self.base_m)
        return 1 - self.top_m / self.height_m, 1 - self.base_m / self.height_m


@dataclass(frozen=True, slots=True, eq=False)
class LayeredWedge:
    """One wedge of many places, ready for any slip angle.

    Parameters
    ----------
    vertical_per_silo, vertical_own : a_j and b_j of the module's text; times the width over tan(theta) they are vertical forces.
    side_per_silo, side_own : t_j and k_j, times 1 / tan(theta) the shear on both sides.
    base_cohesion : c_j h_j.
    tan_friction, width_m, height_m : of layers, wedge, wedge.
    """

    silo: Silo
    vertical_per_silo: FloatArray
    vertical_own: FloatArray
    side_per_silo: FloatArray
    side_own: FloatArray
    base_cohesion: FloatArray
    tan_friction: FloatArray
    width_m: FloatArray
    height_m: FloatArray

    @classmethod
    def of(cls, silo: Silo, face: FaceColumns, side_stress: SideStress) -> Self:
        """Return the wedge over the whole height of the face columns."""
        height_m = face.height_m
        top, base = height_m - face.top_m, height_m - face.base_m
        thickness_m = face.base_m - face.top_m
        own_top, own_base = face.own_stress_kpa()
        share_top, share_base = face.silo_share(side_stress)
        friction = face.side_coefficient * np.tan(face.friction_rad)
        area = thickness_m * (top + base) / 2
        return cls(
            silo=silo,
            vertical_per_silo=share_top * top - share_base * base,
            vertical_own=own_top * top + face.weight_kn_m3 * area - own_base * base,
            side_per_silo=2 * friction * _product_integral(share_top, share_base, top, base, thickness_m),
            side_own=2 * (face.cohesion_kpa * area + friction * _product_integral(own_top, own_base, top, base, thickness_m)),
            base_cohesion=face.cohesion_kpa * thickness_m,
            tan_friction=np.tan(face.friction_rad),
            width_m=face.width_m,
            height_m=height_m,
        )

    def silo_stress_kpa(self, angle_rad: FloatArray) -> FloatArray:
        """Return the silo stress for angles of shape (places, angles)."""
        return self.silo.stress(2 * np.tan(angle_rad) / self.height_m + 2 / self.width_m)

    def support_kpa(self, angle_rad: FloatArray) -> FloatArray:
        """Return the mean effective support pressure over the height of the wedge for angles of shape (places, angles)."""
        slope = np.tan(angle_rad)
        secant_squared = 1 + slope * slope
        secant = np.sqrt(secant_squared)
        stress = self.silo.stress(2 * slope / self.height_m + 2 / self.width_m)
        total = np.zeros_like(stress)
        for layer in range(self.tan_friction.shape[1]):
            at = slice(layer, layer + 1)
            friction = self.tan_friction[:, at]
            driving = self.width_m * (stress * self.vertical_per_silo[:, at] + self.vertical_own[:, at]) * (slope - friction)
            sides = secant * (stress * self.side_per_silo[:, at] + self.side_own[:, at])
            base = secant_squared * (self.base_cohesion[:, at] * self.width_m)
            total += (driving - sides - base) / (1 + friction * slope)
        return total / (slope * self.width_m * self.height_m)


def _product_integral(stress_top: FloatArray, stress_base: FloatArray, width_top: FloatArray, width_base: FloatArray, thickness_m: FloatArray) -> FloatArray:
    """Return the integral of two quantities that run linearly over a layer's thickness."""
    return thickness_m / 6 * (2 * stress_top * width_top + stress_top * width_base + stress_base * width_top + 2 * stress_base * width_base)


def worst_angle(wedge: LayeredWedge, least_friction_rad: FloatArray, search: AngleSearch = FULL_SEARCH) -> FloatArray:
    """Return the slip angle of the greatest support, shape (places,), searched from one degree above the least friction angle to 89 degrees."""
    low_rad = least_friction_rad + ABOVE_FRICTION_RAD
    return angle_of_greatest(wedge.support_kpa, low_rad, np.full_like(low_rad, STEEPEST_ANGLE_RAD), search)


def least_slice_normal_kn(face: FaceColumns, silo_stress_kpa: FloatArray, angle_rad: FloatArray, slice_count: int, side_stress: SideStress) -> FloatArray:
    """Return the least normal force on the slip plane below a slice, shape (places,).

    Parameters
    ----------
    face : layers; each is cut into ``slice_count`` slices of equal thickness.
    silo_stress_kpa, angle_rad : of the place, shape (places,).
    """
    edges = np.linspace(0.0, 1.0, slice_count + 1)
    thickness = (face.base_m - face.top_m)[:, :, None]
    share, own = ((top[:, :, None] + (base - top)[:, :, None] * edges) for top, base in (face.silo_share(side_stress), face.own_stress_kpa()))
    stress = share * silo_stress_kpa[:, None, None] + own
    width = face.height_m[:, :, None] - (face.top_m[:, :, None] + thickness * edges)
    slope = np.tan(angle_rad)[:, None, None]
    weight, cohesion = face.weight_kn_m3[:, :, None], face.cohesion_kpa[:, :, None]
    side_friction, base_friction = (face.side_coefficient * np.tan(face.friction_rad))[:, :, None], np.tan(face.friction_rad)[:, :, None]
    part = thickness / slice_count
    area = part * (width[..., 1:] + width[..., :-1]) / 2 / slope
    breadth = face.width_m[:, :, None]
    vertical = breadth * ((stress * width)[..., :-1] - (stress * width)[..., 1:]) / slope + weight * breadth * area
    sides = 2 * (cohesion + side_friction * (stress[..., 1:] + stress[..., :-1]) / 2) * area
    sine, cosine = np.sin(angle_rad)[:, None, None], np.cos(angle_rad)[:, None, None]
    normal = (vertical - sides * sine - cohesion * breadth * part) / (cosine + base_friction * sine)
    return np.min(np.where(thickness > 0, normal, np.inf), axis=(1, 2)) if normal.size else np.empty(len(angle_rad))
