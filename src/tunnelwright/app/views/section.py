"""The ground section of the longitudinal sheet: strata, water, boreholes and assets along the drive."""

import re

import numpy as np

from tunnelwright.app.views.subject import Subject
from tunnelwright.drive.geology import project_holes
from tunnelwright.drive.project import Asset, Borehole
from tunnelwright.drive.sections import lenses_of
from tunnelwright.report.figure import Reading
from tunnelwright.report.ink import SoilKind
from tunnelwright.report.inputs import AssetOutline, BoreholeStick, GroundLayer, GroundLens, GroundSection, WaterLevel

DRAWN_KIND: dict[str, SoilKind] = {
    "made_ground": "made_ground",
    "clay": "clay",
    "silt": "silt",
    "sand": "sand",
    "gravel": "gravel",
    "rock": "rock",
    "mixed": "gravel",
}
ASSET_KIND = {
    "building": "building",
    "wall": "building",
    "pipe_continuous": "pipe",
    "pipe_jointed": "sewer",
    "pile": "bridge",
    "track": "street",
    "road": "street",
    "tunnel": "sewer",
}
NEAR_ASSET_M = 25.0
DEPTH_BELOW_INVERT_M = 8.0


def ground_section(subject: Subject) -> GroundSection:
    """Return the section along the middle of the rings, with the readings at each push."""
    made, sections = subject.plan, subject.plan.ring_sections
    units = made.case.project.ground.units_in_order
    floor = float(np.min(sections.invert_level_m)) - DEPTH_BELOW_INVERT_M
    tops = np.maximum(np.where(np.isfinite(sections.boundary_level_m), sections.boundary_level_m, floor), floor)
    layers = tuple(
        GroundLayer(
            name=short_name(unit.name),
            kind=DRAWN_KIND[unit.kind],
            chainage_m=sections.chainage_m,
            top_level_m=tops[:, place],
            base_level_m=tops[:, place + 1] if place + 1 < len(units) else np.full(sections.count, floor),
            base_doubt_m=sections.boundary_sd_m[:, place + 1] * 1.645 if place + 1 < len(units) else None,
        )
        for place, unit in enumerate(units)
    )
    heads = [one for one in made.case.project.ground.aquifers if one.drive in ("", subject.drive)]
    return GroundSection(
        chainage_m=sections.chainage_m,
        surface_level_m=sections.ground_level_m,
        axis_level_m=sections.points.level_m,
        outer_diameter_m=made.case.ring_type.ring_outer_diameter_m,
        shield_diameter_m=made.case.machine.shield_front_diameter_m,
        shield_length_m=made.case.machine.shield_length_m,
        layers=layers,
        lenses=tuple(
            GroundLens(
                name=short_name(made.case.project.ground.unit(lens.unit).name),
                kind=DRAWN_KIND[made.case.project.ground.unit(lens.unit).kind],
                chainage_m=lens.outline_m[:, 0],
                level_m=lens.outline_m[:, 1],
            )
            for lens in lenses_of(made.case)
        ),
        waters=tuple(
            WaterLevel(name=f"head, {one.name}", chainage_m=sections.chainage_m, level_m=one.head_level_m(sections.chainage_m), is_second_head=place > 0)
            for place, one in enumerate(heads)
        ),
        boreholes=_sticks(subject),
        assets=_assets(subject),
        low_level_m=floor,
        high_level_m=float(np.max(sections.ground_level_m)) + 12.0,
        readings=_readings(subject),
    )


def short_name(name: str) -> str:
    """Return the name of a ground unit up to its first comma or colon."""
    return re.split(r"[,:(]", name)[0].strip()


def _sticks(subject: Subject) -> tuple[BoreholeStick, ...]:
    geology = subject.plan.geology
    sticks = []
    for name, at, aside, top, base, sealed in zip(
        geology.hole_names,
        geology.hole_chainage_m,
        geology.hole_offset_m,
        geology.hole_top_level_m,
        geology.hole_base_level_m,
        geology.hole_is_sealed,
        strict=True,
    ):
        if np.isfinite(at):
            side = "on the axis" if abs(aside) < 1 else f"{abs(aside):.0f} m {'right' if aside > 0 else 'left'}"
            remark = side if sealed or abs(aside) > subject.plan.case.machine.excavation_diameter_m else f"{side}, not sealed"
            sticks.append(BoreholeStick(name=name, chainage_m=float(at), top_level_m=float(top), base_level_m=float(base), remark=remark))
    return tuple(sticks)


def _assets(subject: Subject) -> tuple[AssetOutline, ...]:
    """Return the assets near the axis, each over the chainages its plan covers."""
    near = []
    for asset in subject.plan.case.project.assets:
        corners = np.vstack([asset.corners_m, asset.line_m, [[asset.easting_m, asset.northing_m]]])
        points = tuple(_point(asset, row) for row in corners)
        chainage, offset = project_holes(subject.plan.case, points)
        known = np.isfinite(chainage)
        crosses = known.any() and (np.nanmin(offset) < 0 < np.nanmax(offset))
        if not known.any() or (not crosses and np.nanmin(np.abs(offset)) > NEAR_ASSET_M):
            continue
        near.append(_outline(asset, float(np.nanmin(chainage)), float(np.nanmax(chainage))))
    return tuple(near)


def _point(asset: Asset, row: np.ndarray) -> Borehole:
    """Return a point in the shape in which points are projected on the axis."""
    return Borehole(borehole=asset.asset, easting_m=float(row[0]), northing_m=float(row[1]), ground_level_m=0.0, depth_m=1.0)


def _outline(asset: Asset, start: float, end: float) -> AssetOutline:
    is_pipe = asset.kind in ("pipe_continuous", "pipe_jointed", "tunnel")
    diameter = asset.height_m or 0.6
    return AssetOutline(
        name=asset.name or asset.asset,
        kind=ASSET_KIND[asset.kind],  # type: ignore[arg-type]
        start_chainage_m=start,
        end_chainage_m=max(end, start + 0.5),
        foundation_level_m=asset.foundation_level_m + (diameter / 2 if is_pipe else 0.0),
        top_level_m=asset.foundation_level_m + asset.height_m if asset.height_m and not is_pipe else float("nan"),
        diameter_m=diameter if is_pipe else 0.0,
        pile_toe_level_m=asset.toe_level_m if asset.toe_level_m is not None else float("nan"),
    )


def _readings(subject: Subject) -> tuple[Reading, ...]:
    made = subject.plan
    shares = made.muck.unit_share
    units = made.case.project.ground.units_in_order
    met = [place for place in range(len(units)) if np.any(shares[:, place] > 0.005)]
    first = made.stations.first_of_push()
    return (
        Reading(label="ground level at ring", values=made.ring_sections.ground_level_m, unit="m", decimals=1, is_signed=True),
        Reading(label="cover to crown", values=made.face.cover_m, unit="m", decimals=1),
        *(Reading(label=f"{short_name(units[place].name).lower()} in face", values=shares[:, place] * 100, unit="%", decimals=0) for place in met),
        Reading(label="water at crown", values=made.window.pore_pressure_crown_kpa[first], unit="kPa", decimals=0),
    )
