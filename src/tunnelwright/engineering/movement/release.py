"""What share of the settlement has come at a distance from the face.

Every metre of drive leaves a dimple. With one lag all of it is released at an effective face a little behind the real one; in stages a
part comes at the face, a part evenly along the shield and the rest where the tail leaves the ring.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from tunnelwright.engineering.movement.sources import MAIR_TAYLOR_1997, STAGED_RELEASE
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Values

CLOSED_FACE_RATIO: Final = 0.25
_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
RATIO_POSSIBLE: Final = (1e-6, 1 - 1e-6)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SingleLag(Record):
    """Where all settlement may be thought to be released."""

    face_shift_m: FloatArray


@method(
    "movement.release.single_lag",
    formulas={"face_shift_m": Formula("dx_e", "i * Phi_inverse(r)")},
    symbols={"settlement_ratio_at_face": "r"},
    possible={"settlement_ratio_at_face": RATIO_POSSIBLE},
    valid={"settlement_ratio_at_face": Range(0.1, 0.5, "0.5 is an open face; 0.25 to 0.3 is usual for a closed one")},
    kind="mean",
    source=MAIR_TAYLOR_1997,
)
def single_lag(trough_width_m: Number, settlement_ratio_at_face: Number = CLOSED_FACE_RATIO) -> SingleLag:
    """Return how far the effective face lies before the real one; behind it is negative.

    Parameters
    ----------
    trough_width_m : at the surface; the lag belongs to the drive and holds at every depth.
    settlement_ratio_at_face : share of the final settlement already there above the face.
    """
    return SingleLag(face_shift_m=np.multiply(trough_width_m, special.ndtri(settlement_ratio_at_face)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StagedRelease(Record):
    """Share of the final settlement at a point on the axis."""

    developed_ratio: FloatArray
    settlement_ratio_at_face: FloatArray


def _shares_sum_to_one(values: Values) -> FloatArray:
    total = np.asarray(values["face_share"]) + np.asarray(values["shield_share"]) + np.asarray(values["tail_share"])
    return np.asarray(np.isnan(total) | (np.abs(total - 1) < 1e-6))


def _falls_ahead(values: Values) -> FloatArray:
    """Return whether the share at the point is on the right side of the one at the face."""
    x = np.asarray(values["distance_from_face_m"])
    difference = np.asarray(values["developed_ratio"]) - np.asarray(values["settlement_ratio_at_face"])
    return np.asarray(np.isnan(difference) | (difference * np.sign(x) <= 1e-12))


@method(
    "movement.release.staged",
    found_by={
        "developed_ratio": Algorithm(
            "normal curves summed along the drive: the face's share from the face, the shield's from the mean over its length, the tail's from the tail",
            "r_d",
            {"less ahead of the face, more behind": _falls_ahead},
        ),
        "settlement_ratio_at_face": Algorithm("the same at the face", "r_f"),
    },
    possible={"shield_share": (0.0, 1.0), "tail_share": (0.0, 1.0)},
    requires=(Require("tail_share", _shares_sum_to_one, "must make 1 together with face_share and shield_share"),),
    kind="mean",
    source=STAGED_RELEASE,
)
def staged(
    trough_width_m: Number, face_share: Number, shield_share: Number, tail_share: Number, shield_length_m: Number, distance_from_face_m: Number
) -> StagedRelease:
    """Return the share of the final settlement at a point on the axis when ground is lost at the face, along the shield and at the tail.

    Parameters
    ----------
    trough_width_m : at the level looked at.
    face_share, shield_share, tail_share : of the whole loss, 1 together.
    shield_length_m : from the face to where grout leaves the tail.
    distance_from_face_m : of the point, positive ahead.

    Notes
    -----
    A single lag is the limit of one share only.
    """
    shares = (face_share, shield_share, tail_share)
    return StagedRelease(
        developed_ratio=_developed(np.divide(distance_from_face_m, trough_width_m), np.divide(shield_length_m, trough_width_m), shares),
        settlement_ratio_at_face=_developed(0.0 * np.divide(distance_from_face_m, trough_width_m), np.divide(shield_length_m, trough_width_m), shares),
    )


def _developed(ahead: FloatArray, shield: FloatArray, shares: tuple[Number, Number, Number]) -> FloatArray:
    """Return the released share; lengths over the trough width."""
    is_long = np.asarray(shield > 1e-9)
    length = np.where(is_long, shield, 1.0)
    along = np.where(is_long, (_summed(-ahead) - _summed(-ahead - length)) / length, special.ndtr(-ahead))
    face, skin, tail = shares
    return np.asarray(face * special.ndtr(-ahead) + skin * along + tail * special.ndtr(-ahead - shield))


def _summed(place: FloatArray) -> FloatArray:
    """Return the integral of the normal distribution up to a place."""
    return np.asarray(place * special.ndtr(place) + np.exp(-0.5 * np.square(place)) / _ROOT_2_PI)
