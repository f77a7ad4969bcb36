"""The plan of an axis as short chords: near enough to say what lies beside a drive, before the axis itself is built."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.project.drives import DesignAxis
from tunnelwright.vocabulary.types import FloatArray

CHORD_M = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Chords:
    """Points along an axis and the bearings there; good to a few millimetres."""

    chainage_m: FloatArray
    easting_m: FloatArray
    northing_m: FloatArray
    bearing_rad: FloatArray

    def nearest(self, easting_m: FloatArray, northing_m: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return chainage, offset to the right and distance beyond the ends of points in plan, within a decimetre or two beside a curve."""
        east = np.asarray(easting_m, dtype=float)[..., None] - self.easting_m
        north = np.asarray(northing_m, dtype=float)[..., None] - self.northing_m
        closest = np.argmin(east**2 + north**2, axis=-1)[..., None]
        east, north = (np.take_along_axis(each, closest, -1)[..., 0] for each in (east, north))
        bearing = self.bearing_rad[closest[..., 0]]
        ahead = east * np.sin(bearing) + north * np.cos(bearing)
        offset = east * np.cos(bearing) - north * np.sin(bearing)
        chainage = self.chainage_m[closest[..., 0]] + ahead
        beyond = np.maximum(np.maximum(self.chainage_m[0] - chainage, chainage - self.chainage_m[-1]), 0.0)
        return chainage, offset, beyond

    def strip(self, half_width_m: float) -> FloatArray:
        """Return easting and northing of points on the axis and at half the width to both sides."""
        right = np.stack([np.cos(self.bearing_rad), -np.sin(self.bearing_rad)], axis=-1)
        centre = np.stack([self.easting_m, self.northing_m], axis=-1)
        return np.concatenate([centre, centre - half_width_m * right, centre + half_width_m * right])


def chords_of(axis: DesignAxis) -> Chords:
    """Return the chords of an axis; every transition is taken as a clothoid, which moves points by centimetres at most."""
    ends = np.concatenate([[0.0], np.cumsum(axis.length_m)])
    step_count = max(int(np.ceil(ends[-1] / CHORD_M)), 1)
    distance = np.unique(np.concatenate([np.linspace(0.0, ends[-1], step_count + 1), ends]))
    middle = (distance[:-1] + distance[1:]) / 2
    step = np.diff(distance)
    element = np.clip(np.searchsorted(ends, middle, side="right") - 1, 0, len(axis.elements) - 1)
    share = (middle - ends[element]) / axis.length_m[element]
    curvature = axis.start_curvature_1_m[element] * (1 - share) + axis.end_curvature_1_m[element] * share
    bearing = axis.start.bearing_rad + np.concatenate([[0.0], np.cumsum(curvature * step)])
    mean_bearing = (bearing[:-1] + bearing[1:]) / 2
    easting = axis.start.easting_m + np.concatenate([[0.0], np.cumsum(np.sin(mean_bearing) * step)])
    northing = axis.start.northing_m + np.concatenate([[0.0], np.cumsum(np.cos(mean_bearing) * step)])
    return Chords(chainage_m=axis.start.chainage_m + distance, easting_m=easting, northing_m=northing, bearing_rad=bearing)
