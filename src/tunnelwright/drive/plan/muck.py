"""Muck of every push: volume and mass expected on the belt, each with its spread."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.axis import DriveCase, Rings
from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.layers import face_areas_m2, layers_between, unit_shares
from tunnelwright.drive.plan.face import Stations
from tunnelwright.drive.sections import Sections
from tunnelwright.drive.strength import mean_values
from tunnelwright.vocabulary.types import FloatArray, IntArray

GRAVITY = 9.81
# Ring noise, editable defaults of muck.md 3: stroke 5 mm, density 1.25 %, flow meters 3 %; common parts: bore 5 mm, density 1.5 %.
STROKE_SD_MM = 5.0
DENSITY_RING_SD = 0.0125
FLOW_SD = 0.03
BORE_SD_MM = 5.0
DENSITY_COMMON_SD = 0.015
WEIGHER_RING_SD = 0.0075
WEIGHER_COMMON_SD = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MuckPlan:
    """Muck expected of every push."""

    excavated_volume_m3: FloatArray
    density_t_m3: FloatArray
    water_content: FloatArray
    solution_volume_m3: FloatArray
    foam_volume_m3: FloatArray
    added_water_t: FloatArray
    muck_mass_t: FloatArray
    muck_mass_sd_t: FloatArray
    muck_mass_common_sd_t: FloatArray
    loose_volume_m3: FloatArray
    unit_share: FloatArray

    @property
    def ring_sd_ratio(self) -> FloatArray:
        """Return the ring noise as a share of the mass."""
        return self.muck_mass_sd_t / self.muck_mass_t

    @property
    def common_sd_ratio(self) -> FloatArray:
        """Return the part common to neighbouring rings as a share of the mass."""
        return self.muck_mass_common_sd_t / self.muck_mass_t


def muck_plan(case: DriveCase, rings: Rings, sections: Sections, stations: Stations, chamber_pressure_kpa: FloatArray) -> MuckPlan:
    """Return the muck of every push; ground values are averaged over the face span of the push."""
    first = stations.first_of_push()
    shares, density, water = _ground_means(case, sections, stations, first)
    stroke_m = np.full(rings.count, case.ring_type.ring_length_m + case.ring_type.joint_gap_mm / 1000.0)
    volume = kernel("muck.volume.geometry")(excavation_diameter_m=sections.excavation_diameter_m, stroke_m=stroke_m)
    foam_ratio, expansion, surfactant, extra_water, bulking = (shares @ _of_units(case, name) for name in _CONDITIONING)
    foam = kernel("muck.foam.efnarc_2005")(
        excavated_volume_m3=volume.excavated_volume_m3,
        foam_injection_ratio=foam_ratio,
        foam_expansion_ratio=np.maximum(expansion, 1.0),
        surfactant_concentration=surfactant,
        chamber_pressure_kpa=np.nan_to_num(chamber_pressure_kpa),
    )
    added_water_t = extra_water * volume.excavated_volume_m3
    expected = kernel("muck.mass.expected")(
        density_t_m3=density,
        water_content=water,
        excavated_volume_m3=volume.excavated_volume_m3,
        solution_volume_m3=foam.solution_volume_m3,
        added_water_t=added_water_t,
    )
    shared = {
        "excavation_diameter_m": sections.excavation_diameter_m,
        "stroke_m": stroke_m,
        "density_t_m3": density,
        "added_water_t": added_water_t,
        "solution_mass_t": foam.solution_volume_m3,
    }
    uncertain = kernel("muck.mass.expected_uncertainty")
    ring = uncertain(
        **shared,
        stroke_sd_mm=STROKE_SD_MM,
        density_sd_ratio=DENSITY_RING_SD,
        added_water_sd_ratio=FLOW_SD,
        solution_sd_ratio=FLOW_SD,
        weigher_sd_ratio=_weigher_sd(case, "ring"),
    )
    common = uncertain(**shared, excavation_diameter_sd_mm=BORE_SD_MM, density_sd_ratio=DENSITY_COMMON_SD, weigher_sd_ratio=_weigher_sd(case, "common"))
    loose = kernel("muck.bulking.loose")(
        excavated_volume_m3=volume.excavated_volume_m3, bulking_factor=np.maximum(bulking, 1.0), muck_mass_t=expected.muck_mass_t
    )
    return MuckPlan(
        excavated_volume_m3=volume.excavated_volume_m3,
        density_t_m3=density,
        water_content=water,
        solution_volume_m3=foam.solution_volume_m3,
        foam_volume_m3=foam.foam_volume_m3,
        added_water_t=added_water_t,
        muck_mass_t=expected.muck_mass_t,
        muck_mass_sd_t=ring.muck_mass_sd_t,
        muck_mass_common_sd_t=common.muck_mass_sd_t,
        loose_volume_m3=loose.loose_volume_m3,
        unit_share=shares,
    )


_CONDITIONING = ("foam_injection_ratio", "foam_expansion_ratio", "surfactant_concentration", "added_water_ratio", "bulking_factor")


def _of_units(case: DriveCase, name: str) -> FloatArray:
    return case.project.ground.values(name)


def _weigher_sd(case: DriveCase, part: str) -> float:
    weighers = case.machine.belt_weighers
    if not weighers:
        return WEIGHER_RING_SD if part == "ring" else WEIGHER_COMMON_SD
    return max(weigher.ring_sd_ratio if part == "ring" else weigher.common_sd_ratio for weigher in weighers)


def _ground_means(case: DriveCase, sections: Sections, stations: Stations, first: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return unit shares, bulk density and water content of every push: area-weighted over the face, then over the span."""
    values = mean_values(case.project)
    face = layers_between(sections.columns["normal"], values, sections.crown_level_m, sections.invert_level_m)
    areas = face_areas_m2(sections, face)
    density = (areas * face.unit_weight_kn_m3).sum(axis=1) / areas.sum(axis=1) / GRAVITY
    shares = unit_shares(sections, face, len(case.project.ground.units))
    water = shares @ _water_contents(case)
    weight = _span_weights(stations, first)
    return (
        np.add.reduceat(shares * weight[:, None], first, axis=0),
        np.add.reduceat(density * weight, first),
        np.add.reduceat(water * weight, first),
    )


def _span_weights(stations: Stations, first: IntArray) -> FloatArray:
    """Return the trapezoid weight of every station within its span; they add up to one per push."""
    position = stations.chainage_m
    is_first = np.zeros(len(position), dtype=bool)
    is_first[first] = True
    is_last = np.append(is_first[1:], True)
    before = np.where(is_first, 0.0, np.diff(position, prepend=position[0]))
    after = np.where(is_last, 0.0, np.diff(position, append=position[-1]))
    weight = (before + after) / 2
    counts = np.diff(np.append(first, len(position)))
    span = np.repeat(np.add.reduceat(weight, first), counts)
    return np.where(span > 0, weight / np.where(span > 0, span, 1.0), 1.0 / np.repeat(counts, counts))


def _water_contents(case: DriveCase) -> FloatArray:
    """Return the water content of every unit; where none is given, that of full saturation at the unit's density."""
    contents = []
    for unit in case.project.ground.units_in_order:
        if unit.water_content is not None:
            contents.append(unit.water_content.value)
            continue
        wet, grain = unit.unit_weight_saturated_kn_m3.value / GRAVITY, unit.grain_density_t_m3
        # rho = rho_s (1 + w) / (1 + w rho_s) for a saturated soil, solved for w.
        contents.append(max(0.0, (grain - wet) / (grain * (wet - 1.0))))
    return np.array(contents)
