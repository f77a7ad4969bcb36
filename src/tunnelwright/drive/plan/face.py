"""The face window of every push: least and greatest face pressure, the worst over the span of the face, and one target between.

All limits are pressures at the crown of the bore. At every station of a span the drained limit is found by slices (equal to the plain wedge
where the face is uniform) and, where clay fills half the face, the undrained limit beside it; the larger governs, since clay drains during a
long stop.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tunnelwright.drive.axis import DriveCase, Rings
from tunnelwright.drive.geology import Geology, unsealed_holes_near
from tunnelwright.drive.kernels import kernel
from tunnelwright.drive.layers import Layers, Stresses, layers_between, stresses_at, undrained_strength_kpa, unit_shares, water_force_kn
from tunnelwright.drive.sections import Column, Sections, WaterCase, lenses_of
from tunnelwright.drive.strength import UnitValues, drainage_of, lower_limit_values, upper_limit_values
from tunnelwright.vocabulary.types import BoolArray, FloatArray, IntArray, TextArray

CLAY_SHARE_FOR_UNDRAINED = 0.5
LOSS_PATH_ABOVE_WATER_KPA = 20.0
# Stations just before and behind a lens edge, so that the worst of a span is not missed between them.
EDGE_M = 0.01
SERVICE_STRESS_SHARE = 0.7
CUSHION_LEVEL_SHARE = 0.67


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stations:
    """Places at which the face is calculated, in order of chainage, and the push whose span holds each."""

    chainage_m: FloatArray
    push_index: FloatArray

    def first_of_push(self) -> IntArray:
        """Return the position of the first station of every push."""
        return np.flatnonzero(np.diff(self.push_index, prepend=-1.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StationWindow:
    """Limits at every station, at the crown, with what led to them."""

    effective_support_pressure_kpa: FloatArray
    slip_angle_rad: FloatArray
    water_force_kn: FloatArray
    pore_pressure_crown_kpa: FloatArray
    pore_pressure_invert_kpa: FloatArray
    drained_required_crown_kpa: FloatArray
    drained_governing: TextArray
    undrained_strength_kpa: FloatArray
    clay_share: FloatArray
    critical_stability_number: FloatArray
    undrained_required_crown_kpa: FloatArray
    total_vertical_stress_axis_kpa: FloatArray
    total_vertical_stress_crown_low_kpa: FloatArray
    hard_lower_crown_kpa: FloatArray
    governing_lower: TextArray
    hard_upper_crown_kpa: FloatArray
    governing_upper: TextArray
    service_pressure_axis_kpa: FloatArray
    crown_water_rule_applies: FloatArray
    local_wedges: Any


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FacePlan:
    """The window and the target of every push, at the crown; the target also at axis, invert and every chamber sensor.

    Parameters
    ----------
    air_pressure_kpa : of the cushion of a two-chamber slurry shield that gives the target with its planned level; NaN for other shields.
    """

    cover_m: FloatArray
    hard_lower_crown_kpa: FloatArray
    operating_lower_crown_kpa: FloatArray
    target_crown_kpa: FloatArray
    operating_upper_crown_kpa: FloatArray
    hard_upper_crown_kpa: FloatArray
    window_width_kpa: FloatArray
    deficit_kpa: FloatArray
    window_status: TextArray
    window_reason: TextArray
    governing_lower: TextArray
    governing_upper: TextArray
    lower_station: FloatArray
    upper_station: FloatArray
    preferred_crown_kpa: FloatArray
    service_pressure_crown_kpa: FloatArray
    target_axis_kpa: FloatArray
    target_invert_kpa: FloatArray
    target_sensor_kpa: FloatArray
    air_pressure_kpa: FloatArray
    loss_path: TextArray

    @property
    def has_window(self) -> BoolArray:
        """Return whether each push has a window."""
        return np.asarray(self.window_status == "window")


def face_stations(case: DriveCase, rings: Rings) -> Stations:
    """Return start, middle and end of every face span and the edges of lenses within it."""
    start, end = rings.face_start_chainage_m, rings.face_end_chainage_m
    places = [np.stack([start + EDGE_M, (start + end) / 2, end - EDGE_M], axis=1).ravel()]
    for lens in lenses_of(case):
        corners = np.unique(lens.outline_m[:, 0])
        places.append(np.concatenate([corners - EDGE_M, corners + EDGE_M]))
    chainage = np.unique(np.concatenate(places))
    chainage = chainage[(chainage > start[0]) & (chainage < end[-1])]
    return Stations(chainage_m=chainage, push_index=(np.searchsorted(start, chainage, side="right") - 1).astype(np.float64))


def station_window(case: DriveCase, sections: Sections, geology: Geology) -> StationWindow:
    """Return the limits at every station."""
    water_low, water_high = water_cases(case)
    lower, upper = lower_limit_values(case.project), upper_limit_values(case.project)
    drained = drained_limit(case, sections, lower, water_high)
    undrained = undrained_limit(case, sections, lower, water_high)
    uppers = upper_limit(case, sections, upper, water_low, geology)
    clay_governs = np.nan_to_num(undrained["required_crown"], nan=-np.inf) > drained["required_crown"]
    return StationWindow(
        effective_support_pressure_kpa=drained["effective_support"],
        slip_angle_rad=drained["slip_angle"],
        water_force_kn=drained["water_force"],
        pore_pressure_crown_kpa=drained["pore_crown"],
        pore_pressure_invert_kpa=drained["pore_invert"],
        drained_required_crown_kpa=drained["required_crown"],
        drained_governing=drained["governing"],
        undrained_strength_kpa=undrained["strength"],
        clay_share=undrained["clay_share"],
        critical_stability_number=undrained["critical_number"],
        undrained_required_crown_kpa=undrained["required_crown"],
        total_vertical_stress_axis_kpa=undrained["stress_axis"],
        total_vertical_stress_crown_low_kpa=uppers["stress_crown"],
        hard_lower_crown_kpa=np.where(clay_governs, undrained["required_crown"], drained["required_crown"]),
        governing_lower=np.where(clay_governs, "undrained clay", drained["governing"]),
        hard_upper_crown_kpa=uppers["limit"],
        governing_upper=uppers["governing"],
        service_pressure_axis_kpa=service_pressure(case, sections, lower, undrained, water_high),
        crown_water_rule_applies=drained["crown_rule"],
        local_wedges=drained["local_wedges"],
    )


def water_cases(case: DriveCase) -> tuple[WaterCase, WaterCase]:
    """Return the water case of the upper limit and that of the lower limit."""
    return ("low", "high") if case.project.choices.water_cases == "low_and_high" else ("normal", "normal")


def drained_inputs(case: DriveCase, sections: Sections, values: UnitValues, water: WaterCase) -> dict[str, object]:
    """Return the inputs of the slices at every station: layers of the silo and of the face, surcharge, width."""
    column = sections.columns[water]
    method = kernel(case.project.choices.drained_lower_limit)
    cover = layers_between(column, values, sections.ground_level_m, sections.crown_level_m)
    face = layers_between(column, values, sections.crown_level_m, sections.invert_level_m)
    diameter = sections.excavation_diameter_m
    inputs = {
        "excavation_diameter_m": diameter,
        "layers": _table(method.table("layers"), cover),
        "face_layers": _table(method.table("face_layers"), face),
        "surcharge_kpa": np.where(sections.free_water_height_m[water] > 0, 0.0, case.drive.surcharge_kpa),
        "wedge_width_m": diameter if case.project.choices.wedge_width == "diameter" else np.pi / 4 * diameter,
        "side_stress": case.project.choices.side_stress,
        "arching": case.project.choices.arching,
    }
    return {name: value for name, value in inputs.items() if name in method.inputs}


def _table(table: Any, layers: Layers) -> Any:
    names = ("thickness_m", "effective_unit_weight_kn_m3", "cohesion_kpa", "friction_angle_rad")
    return table(**{name: getattr(layers, name) for name in names})


def drained_limit(case: DriveCase, sections: Sections, values: UnitValues, water: WaterCase) -> dict[str, Any]:
    """Return the drained limit at every station, with what led to it."""
    slices = kernel(case.project.choices.drained_lower_limit)(**drained_inputs(case, sections, values, water))
    column = sections.columns[water]
    face = layers_between(column, values, sections.crown_level_m, sections.invert_level_m)
    force = water_force_kn(sections, face)
    crown_rule = crown_rule_applies(case, sections, column.unit_at(sections.crown_level_m - EDGE_M))
    window = kernel("face.window_partial_factors.daub_2016")
    shared = {
        "excavation_diameter_m": sections.excavation_diameter_m,
        "effective_support_pressure_kpa": slices.effective_support_pressure_kpa,
        "water_force_kn": force,
        "pore_pressure_crown_kpa": column.pore_pressure_kpa(sections.crown_level_m),
        "pore_pressure_invert_kpa": column.pore_pressure_kpa(sections.invert_level_m + EDGE_M),
        "support_unit_weight_kn_m3": case.machine.support_unit_weight_low_kn_m3,
        "pressure_allowance_kpa": case.machine.pressure_allowance_kpa,
        "effective_support_factor": case.project.choices.effective_support_factor,
        "water_factor": case.project.choices.water_factor,
        "local_wedges": local_wedge_table(sections, column, slices.local_wedges),
        "water_unit_weight_kn_m3": case.project.water_unit_weight_kn_m3,
    }
    with_rule, without = window(**shared, crown_water_rule="on"), window(**shared, crown_water_rule="off")
    return {
        "effective_support": slices.effective_support_pressure_kpa,
        "slip_angle": slices.slip_angle_rad,
        "water_force": force,
        "pore_crown": shared["pore_pressure_crown_kpa"],
        "pore_invert": shared["pore_pressure_invert_kpa"],
        "required_crown": np.where(crown_rule, with_rule.required_face_pressure_crown_kpa, without.required_face_pressure_crown_kpa),
        "governing": np.where(crown_rule, with_rule.governing, without.governing),
        "crown_rule": crown_rule.astype(np.float64),
        "local_wedges": slices.local_wedges,
    }


def local_wedge_table(sections: Sections, column: Column, local: Any) -> Any:
    """Return the partial wedges with the pore pressure at the middle of each; None where no face has an inner boundary."""
    table = kernel("face.window_partial_factors.daub_2016").table("local_wedges")
    height = np.asarray(local.height_m)
    if not height.shape[-1]:
        return None
    pore = np.stack(
        [column.pore_pressure_kpa(sections.crown_level_m - height[..., row] / 2) for row in range(height.shape[-1])],
        axis=-1,
    )
    return table(height_m=height, effective_support_pressure_kpa=local.effective_support_pressure_kpa, pore_pressure_kpa=pore)


def crown_rule_applies(case: DriveCase, sections: Sections, crown_unit: FloatArray) -> BoolArray:
    """Return where the crown pressure must balance the water: everywhere but in clay judged undrained, if the project wants the rule."""
    if case.project.choices.crown_water_rule == "off":
        return np.zeros(sections.count, dtype=bool)
    undrained = [drainage_of(unit, case.project.choices.drainage) == "undrained" for unit in case.project.ground.units_in_order]
    return ~np.isin(crown_unit, np.flatnonzero(undrained))


def clay_share(case: DriveCase, sections: Sections, values: UnitValues, water: WaterCase) -> FloatArray:
    """Return the share of the face in units that stay undrained, or may, and have an undrained strength."""
    face = layers_between(sections.columns[water], values, sections.crown_level_m, sections.invert_level_m)
    shares = unit_shares(sections, face, len(case.project.ground.units))
    is_clay = [
        drainage_of(unit, case.project.choices.drainage) != "drained" and unit.undrained_strength_reference_kpa is not None
        for unit in case.project.ground.units_in_order
    ]
    return shares[:, is_clay].sum(axis=1)


def undrained_limit(case: DriveCase, sections: Sections, values: UnitValues, water: WaterCase) -> dict[str, FloatArray]:
    """Return the undrained limit at every station, NaN where clay fills less than half of the face."""
    surcharge = np.where(sections.free_water_height_m[water] > 0, 0.0, case.drive.surcharge_kpa)
    axis = stresses_at(sections, water, values, sections.points.level_m, surcharge, case.project.water_unit_weight_kn_m3)
    strength = undrained_strength_kpa(sections, values)
    share = clay_share(case, sections, values, water)
    found = kernel(case.project.choices.undrained_lower_limit)(
        excavation_diameter_m=sections.excavation_diameter_m,
        cover_m=sections.cover_m,
        total_vertical_stress_axis_kpa=axis.total_vertical_stress_kpa,
        undrained_strength_kpa=strength,
        strength_factor=case.project.choices.undrained_factor,
    )
    half = sections.excavation_diameter_m / 2
    crown = found.required_face_pressure_axis_kpa - case.machine.support_unit_weight_low_kn_m3 * half
    return {
        "strength": strength,
        "clay_share": share,
        "stress_axis": axis.total_vertical_stress_kpa,
        "critical_number": found.critical_stability_number,
        "required_crown": np.where(share >= CLAY_SHARE_FOR_UNDRAINED, crown, np.nan),
    }


def upper_stresses(case: DriveCase, sections: Sections, values: UnitValues, water: WaterCase) -> Stresses:
    """Return the least credible stresses at the crown: low weights, low water, no surcharge, the lowest ground of the strip."""
    return stresses_at(
        sections,
        water,
        values,
        sections.crown_level_m,
        0.0,
        case.project.water_unit_weight_kn_m3,
        ground_level_m=np.minimum(sections.lowest_ground_level_m, sections.ground_level_m),
    )


def upper_limit(case: DriveCase, sections: Sections, values: UnitValues, water: WaterCase, geology: Geology) -> dict[str, Any]:
    """Return the least of the upper limits at every station and its name."""
    crown = upper_stresses(case, sections, values, water)
    inputs = {"total_vertical_stress_crown_kpa": crown.total_vertical_stress_kpa, "stress_factor": case.project.choices.stress_factor}
    if case.project.choices.upper_limit == "face.upper.effective_part":
        inputs["pore_pressure_crown_kpa"] = crown.pore_pressure_kpa
    limits = [np.asarray(kernel(case.project.choices.upper_limit)(**inputs).face_pressure_limit_crown_kpa)]
    names = ["heave"]
    diameter, heaviest = sections.excavation_diameter_m, case.machine.support_unit_weight_high_kn_m3
    if case.machine.bulkhead_pressure_rated_kpa is not None:
        limits.append(np.full(sections.count, case.machine.bulkhead_pressure_rated_kpa - heaviest * diameter))
        names.append("bulkhead")
    if case.machine.bearing_seal_pressure_rated_kpa is not None:
        limits.append(np.full(sections.count, case.machine.bearing_seal_pressure_rated_kpa - heaviest * diameter / 2))
        names.append("bearing seal")
    for _, chainage, _ in unsealed_holes_near(case, geology):
        near = np.abs(sections.chainage_m - chainage) <= diameter
        limits.append(np.where(near, crown.pore_pressure_kpa + LOSS_PATH_ABOVE_WATER_KPA, np.inf))
        names.append("open borehole")
    stacked = np.stack(limits)
    return {"limit": stacked.min(axis=0), "governing": np.asarray(names)[stacked.argmin(axis=0)], "stress_crown": crown.total_vertical_stress_kpa}


def service_pressure(case: DriveCase, sections: Sections, values: UnitValues, undrained: dict[str, FloatArray], water: WaterCase) -> FloatArray:
    """Return the pressure at the axis that keeps movement small: in clay from the planned loss, elsewhere water plus a share of the earth pressure at rest."""
    clay = kernel("face.service_pressure.macklin_1999")(
        excavation_diameter_m=sections.excavation_diameter_m,
        cover_m=sections.cover_m,
        total_vertical_stress_axis_kpa=undrained["stress_axis"],
        undrained_strength_kpa=undrained["strength"],
        volume_loss=case.drive.volume_loss_planned,
    )
    axis = stresses_at(sections, water, values, sections.points.level_m, 0.0, case.project.water_unit_weight_kn_m3)
    at_rest = values.earth_pressure_coefficient_at_rest[_main_drained_unit(case, sections, values, water)]
    sand = axis.pore_pressure_kpa + SERVICE_STRESS_SHARE * np.minimum(at_rest, 1.0) * axis.effective_vertical_stress_kpa
    in_clay = undrained["clay_share"] >= CLAY_SHARE_FOR_UNDRAINED
    return np.where(in_clay, np.minimum(clay.face_pressure_axis_kpa, undrained["stress_axis"]), sand)


def _main_drained_unit(case: DriveCase, sections: Sections, values: UnitValues, water: WaterCase) -> FloatArray:
    """Return the index of the unit with the largest share of the face among those without an undrained strength."""
    face = layers_between(sections.columns[water], values, sections.crown_level_m, sections.invert_level_m)
    shares = unit_shares(sections, face, len(case.project.ground.units))
    return np.asarray((shares * np.isnan(values.undrained_strength_reference_kpa)).argmax(axis=1))


def face_plan(case: DriveCase, sections: Sections, stations: Stations, window: StationWindow, geology: Geology) -> FacePlan:
    """Return window and target of every push: the worst station of its span governs, then look-ahead, then steps for the crew."""
    first = stations.first_of_push()
    lower_at = _extreme_station(window.hard_lower_crown_kpa, stations, largest=True)
    upper_at = _extreme_station(window.hard_upper_crown_kpa, stations, largest=False)
    hard_lower, hard_upper = window.hard_lower_crown_kpa[lower_at], window.hard_upper_crown_kpa[upper_at]
    limits = kernel("face.window_limits.allowance")(
        required_face_pressure_crown_kpa=hard_lower, face_pressure_limit_crown_kpa=hard_upper, pressure_allowance_kpa=case.machine.pressure_allowance_kpa
    )
    diameter, weight = sections.excavation_diameter_m, case.machine.support_unit_weight_kn_m3
    service = np.maximum.reduceat(window.service_pressure_axis_kpa, first)
    preferred = kernel("face.target_preferred.rule")(
        operating_lower_crown_kpa=limits.operating_lower_crown_kpa,
        operating_upper_crown_kpa=limits.operating_upper_crown_kpa,
        service_pressure_axis_kpa=service,
        excavation_diameter_m=diameter,
        support_unit_weight_kn_m3=weight,
        window_share=case.project.choices.window_share,
    )
    target = _stepped_targets(case, limits.operating_lower_crown_kpa, limits.operating_upper_crown_kpa, preferred.preferred_crown_kpa)
    depths = case.machine.sensor_depth_below_crown_m
    return FacePlan(
        cover_m=np.minimum.reduceat(sections.cover_m, first),
        hard_lower_crown_kpa=hard_lower,
        operating_lower_crown_kpa=limits.operating_lower_crown_kpa,
        target_crown_kpa=target,
        operating_upper_crown_kpa=limits.operating_upper_crown_kpa,
        hard_upper_crown_kpa=hard_upper,
        window_width_kpa=limits.window_width_kpa,
        deficit_kpa=limits.deficit_kpa,
        window_status=limits.status,
        window_reason=limits.reason,
        governing_lower=window.governing_lower[lower_at],
        governing_upper=window.governing_upper[upper_at],
        lower_station=lower_at.astype(np.float64),
        upper_station=upper_at.astype(np.float64),
        preferred_crown_kpa=preferred.preferred_crown_kpa,
        service_pressure_crown_kpa=preferred.service_pressure_crown_kpa,
        target_axis_kpa=target + weight * diameter / 2,
        target_invert_kpa=target + weight * diameter,
        air_pressure_kpa=_air_pressure(case, diameter, target),
        target_sensor_kpa=target[:, None] + weight * depths[None, :],
        loss_path=_loss_paths(case, stations, first, geology),
    )


def _air_pressure(case: DriveCase, diameter_m: float, target_crown_kpa: FloatArray) -> FloatArray:
    """Return the cushion pressure of a two-chamber shield; the level in the working chamber is two thirds of the bore unless the machine says so."""
    if case.machine.kind != "slurry" or case.machine.slurry is None:
        return np.full(len(target_crown_kpa), np.nan)
    level = case.machine.slurry.air_level_above_invert_m or CUSHION_LEVEL_SHARE * diameter_m
    found = kernel("face.slurry_cushion_setting.hydrostatic")(
        excavation_diameter_m=diameter_m,
        face_pressure_crown_kpa=target_crown_kpa,
        level_above_invert_m=level,
        support_unit_weight_kn_m3=case.machine.support_unit_weight_kn_m3,
    )
    return np.asarray(found.air_pressure_kpa)


def _extreme_station(values: FloatArray, stations: Stations, *, largest: bool) -> IntArray:
    """Return the station of every push at which a limit is worst; the first of equals."""
    signed = -values if largest else values
    order = np.lexsort((np.arange(len(values)), signed, stations.push_index))
    return order[stations.first_of_push()]


def _stepped_targets(case: DriveCase, lower: FloatArray, upper: FloatArray, preferred: FloatArray) -> FloatArray:
    """Return one target per push in as few steps as their limits allow, raised before weaker ground arrives."""
    look = kernel("face.target_look_ahead.extremes")
    rows = look.table("rings")(operating_lower_crown_kpa=lower, operating_upper_crown_kpa=upper, preferred_crown_kpa=preferred)
    ahead = look(rings=rows, rings_ahead=case.project.choices.rings_ahead)
    # Where only the rings ahead close a window, the change of pressure must happen inside the ring: its own limits stand.
    closed = np.asarray(ahead.closed_by_look_ahead) > 0
    low = np.where(closed, lower, ahead.operating_lower_crown_kpa)
    high = np.where(closed, upper, ahead.operating_upper_crown_kpa)
    segments = kernel("face.target_segments.dynamic_programme")
    table = segments.table("rings")(
        operating_lower_crown_kpa=low, operating_upper_crown_kpa=high, preferred_crown_kpa=np.clip(preferred, low, np.maximum(low, high))
    )
    found = segments(rings=table, change_penalty=case.project.choices.change_penalty, pressure_step_kpa=case.project.choices.pressure_step_kpa)
    return np.array(found.target_crown_kpa)


def _loss_paths(case: DriveCase, stations: Stations, first: IntArray, geology: Geology) -> TextArray:
    """Return, for every push, the unsealed borehole within one diameter of its face span; empty where there is none."""
    last = np.append(first[1:], len(stations.chainage_m)) - 1
    start, end = stations.chainage_m[first], stations.chainage_m[last]
    names = np.full(len(first), "", dtype="U64")
    for name, chainage, _ in unsealed_holes_near(case, geology):
        near = (start - case.machine.excavation_diameter_m <= chainage) & (chainage <= end + case.machine.excavation_diameter_m)
        names[near] = name
    return names
