"""Advance rate in a mixed face, and the rate that the grout pump can follow."""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from tunnelwright.engineering.cycle.sources import GEOMETRY, MIXED_FACE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

MixedFaceRule = Literal["slowest", "harmonic"]
_ROUNDING: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceGrounds(Table):
    """Grounds in the face: the share that each takes and the rate at which it would be driven alone."""

    face_share: FloatArray
    advance_rate_mm_min: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AdvanceRate(Record):
    """Speed of the shield."""

    advance_rate_mm_min: FloatArray


def _whole_face(values: Values) -> FloatArray:
    return np.asarray(np.abs(np.sum(values["grounds"].face_share, axis=-1) - 1) <= _ROUNDING)


def _within_the_grounds(values: Values) -> FloatArray:
    """Say whether the rate lies between those of the slowest and the fastest ground present."""
    grounds, rate = values["grounds"], np.asarray(values["advance_rate_mm_min"])
    present = np.where(grounds.face_share > 0, grounds.advance_rate_mm_min, np.nan)
    low, high = np.nanmin(present, axis=-1), np.nanmax(present, axis=-1)
    # Shares may miss 1 by rounding, and the harmonic mean with them.
    return np.asarray(np.isnan(rate) | ((rate >= low * (1 - 2 * _ROUNDING)) & (rate <= high * (1 + 2 * _ROUNDING))))


@method(
    "cycle.advance_rate.mixed_face",
    found_by={
        "advance_rate_mm_min": Algorithm(
            "slowest: least rate among grounds that take at least the least share; harmonic: 1 / sum of share over rate",
            "v",
            {"between the slowest and the fastest ground": _within_the_grounds},
        )
    },
    possible={"least_share": (0.0, 1.0)},
    requires=(
        Require(
            "grounds.advance_rate_mm_min",
            lambda v: ~np.any((v["grounds"].face_share > 0) & (v["grounds"].advance_rate_mm_min <= 0)),
            "each ground of the face needs a rate above 0",
        ),
        Require("grounds.face_share", lambda v: np.any(v["grounds"].face_share > 0, axis=-1), "at least one ground must be in the face"),
        Require(
            "grounds.face_share", lambda v: v["rule"] != "harmonic" or _whole_face(v), "must add to 1 within 1 %", "a ground without a row would take no time"
        ),
    ),
    remarks=(
        Remark(lambda v: v["rule"] == "slowest" and not np.all(_whole_face(v)), "the shares of the grounds do not add to 1: is one missing?"),
        Remark(
            lambda v: v["rule"] == "slowest" and np.any(~np.any(v["grounds"].face_share >= np.asarray(v["least_share"])[..., None], axis=-1)),
            "no ground reaches the least share: the slowest of all that are present was taken",
        ),
    ),
    kind="mean",
    source=MIXED_FACE,
)
def mixed_face(grounds: FaceGrounds, rule: MixedFaceRule = "slowest", least_share: Number = 0.15) -> AdvanceRate:
    """Return the advance rate in a face of several grounds.

    Parameters
    ----------
    grounds : share of the face and rate alone; a row without a share changes nothing.
    rule : ``slowest`` ground of some extent, or ``harmonic`` mean, where the times of the shares add.
    least_share : from which a ground sets the pace under the rule ``slowest``; an editable default.
    """
    share, rate = grounds.face_share, grounds.advance_rate_mm_min
    is_present = share > 0
    counts = is_present & (share >= np.asarray(least_share)[..., None])
    counts = np.where(counts.any(axis=-1, keepdims=True), counts, is_present)
    if rule == "slowest":
        return AdvanceRate(advance_rate_mm_min=np.min(np.where(counts, rate, np.inf), axis=-1))
    pace = np.sum(np.divide(share, rate, out=np.zeros(np.shape(share)), where=is_present), axis=-1)
    return AdvanceRate(advance_rate_mm_min=np.broadcast_to(1 / pace, counts.shape[:-1]))


@method(
    "cycle.advance_rate.grout_limit",
    formulas={"advance_rate_mm_min": Formula("v", "1000 * Q_gr / (60 * A * ff)")},
    possible={"annulus_area_m2": (1e-3, 50.0)},
    kind="upper bound",
    source=GEOMETRY,
)
def grout_limit(grout_flow_m3_h: Number, annulus_area_m2: Number, fill_factor: Number) -> AdvanceRate:
    """Return the fastest advance that the grout pumps can follow.

    Parameters
    ----------
    grout_flow_m3_h : of all pumps together.
    annulus_area_m2 : between cut and ring.
    fill_factor : grout to be placed over the gap's volume.
    """
    return AdvanceRate(advance_rate_mm_min=1000 * np.divide(grout_flow_m3_h, 60 * np.multiply(annulus_area_m2, fill_factor)))
