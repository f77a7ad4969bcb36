"""Back-analysis of readings, quickly: weighted least squares for volume loss and width, with offset and lag where asked.

d_k = V_L pi D^2 / 4 / (sqrt(2 pi) K z_0) exp(-(y_k - e)^2 / (2 i^2)) Phi(Phi^-1(r) - x_k / i)  +  noise
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy import optimize, special

from tunnelwright.engineering.movement.sources import LEAST_SQUARES
from tunnelwright.engineering.movement.width import USUAL_FACTOR
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.method import Algorithm, Remark, Require, method
from tunnelwright.vocabulary.types import FloatArray, Number, Record, Table, Values

Switch = Literal["off", "on"]
RobustLoss = Literal["linear", "soft l1", "huber"]

_ROOT_2_PI: Final = np.sqrt(2 * np.pi)
_LOSS_BOUNDS: Final = (0.0002, 0.08)
_FACTOR_BOUNDS: Final = (0.15, 1.2)
_RATIO_BOUNDS: Final = (0.01, 0.99)
_OUTLIER_SIGMAS: Final = 1.5
_SCIPY_LOSS: Final = {"linear": "linear", "soft l1": "soft_l1", "huber": "huber"}
_ROUNDING: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TroughReadings(Table):
    """Readings of points across the drive; the distance from the face left out means that the drive has passed."""

    offset_m: FloatArray
    settlement_m: FloatArray
    standard_deviation_m: FloatArray
    distance_from_face_m: FloatArray | None = None

    def ahead_m(self) -> FloatArray:
        """Return the distance of each point ahead of the face, minus infinity where the drive has passed."""
        if self.distance_from_face_m is None:
            return np.full(self.row_count, -np.inf)
        return np.where(np.isnan(self.distance_from_face_m), -np.inf, self.distance_from_face_m)


def unit_settlement(
    readings: TroughReadings, excavation_diameter_m: Number, width_m: FloatArray, centre_m: FloatArray, settlement_ratio_at_face: Number
) -> FloatArray:
    """Return the settlement at each reading for a volume loss of 1; the last axis runs over readings.

    Parameters
    ----------
    readings : places looked at.
    excavation_diameter_m : cut diameter.
    width_m, centre_m : of the trough; their axes come before that of the readings.
    settlement_ratio_at_face : share of the final settlement above the face.
    """
    width, centre = np.asarray(width_m)[..., None], np.asarray(centre_m)[..., None]
    lag = special.ndtri(np.asarray(settlement_ratio_at_face, dtype=np.float64))[..., None]
    developed = special.ndtr(np.clip(lag - readings.ahead_m() / width, -40.0, 40.0))
    curve = np.exp(-0.5 * np.square((readings.offset_m - centre) / width))
    return np.asarray(np.pi / 4 * np.square(excavation_diameter_m) / (_ROOT_2_PI * width) * curve * developed)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TroughFit(Record):
    """Parameters of a trough fitted to readings, with the spread that the readings leave."""

    volume_loss: FloatArray
    trough_width_factor: FloatArray
    trough_offset_m: FloatArray
    settlement_ratio_at_face: FloatArray
    volume_loss_sd: FloatArray
    trough_width_factor_sd: FloatArray
    chi_square: FloatArray


def parameter_count(values: Values) -> int:
    """Return how many parameters are fitted."""
    return 2 + (values["fit_offset"] == "on") + (values["fit_ratio"] == "on")


def _misfits(values: Values) -> FloatArray:
    """Return chi-square per degree of freedom; 0 without spare readings."""
    spare = values["readings"].row_count - parameter_count(values)
    return np.asarray(values["chi_square"]) / max(spare, 1) * (spare > 0)


def _is_of_the_fitted_trough(values: Values) -> bool:
    readings: TroughReadings = values["readings"]
    width_m = np.asarray(values["trough_width_factor"]) * values["axis_depth_m"]
    unit = unit_settlement(readings, values["excavation_diameter_m"], width_m, np.asarray(values["trough_offset_m"]), values["settlement_ratio_at_face"])
    misfits = (readings.settlement_m - np.asarray(values["volume_loss"])[..., None] * unit) / readings.standard_deviation_m
    return bool(np.allclose(np.sum(np.square(misfits), axis=-1), values["chi_square"], rtol=1e-6, atol=1e-9, equal_nan=True))


def _is_unusual(values: Values) -> FloatArray:
    factor = np.asarray(values["trough_width_factor"])
    return np.asarray((factor < USUAL_FACTOR.low) | (factor > USUAL_FACTOR.high))


def _at_bound(values: Values) -> FloatArray:
    loss, factor = np.asarray(values["volume_loss"]), np.asarray(values["trough_width_factor"])
    at_loss = (loss <= _LOSS_BOUNDS[0] * (1 + _ROUNDING)) | (loss >= _LOSS_BOUNDS[1] * (1 - _ROUNDING))
    at_factor = (factor <= _FACTOR_BOUNDS[0] * (1 + _ROUNDING)) | (factor >= _FACTOR_BOUNDS[1] * (1 - _ROUNDING))
    return np.asarray(at_loss | at_factor)


@method(
    "movement.fit.least_squares",
    found_by={
        "volume_loss": Algorithm("nonlinear least squares in the logarithms of volume loss and width factor", "V_fit"),
        "trough_width_factor": Algorithm("the same", "K_fit"),
        "trough_offset_m": Algorithm("the same where the offset is fitted, else 0", "e"),
        "settlement_ratio_at_face": Algorithm("the same where the ratio is fitted, else as given", "r_fit"),
        "volume_loss_sd": Algorithm("from the Jacobian at the optimum, widened where the misfit is more than the noise", "s_V"),
        "trough_width_factor_sd": Algorithm("the same", "s_K"),
        "chi_square": Algorithm("sum of squared misfits over their standard deviations", "chi2", {"is that of the fitted trough": _is_of_the_fitted_trough}),
    },
    possible={
        "standard_deviation_m": (1e-6, 1.0),
        "axis_depth_m": (0.5, 400.0),
        "volume_loss": _LOSS_BOUNDS,
        "trough_width_factor": _FACTOR_BOUNDS,
        "settlement_ratio_at_face": _RATIO_BOUNDS,
    },
    requires=(Require("readings", lambda v: v["readings"].row_count >= parameter_count(v), "must hold at least as many rows as parameters are fitted"),),
    remarks=(
        Remark(_is_unusual, "the fitted width factor lies outside 0.2 to 0.9: no trough of lost ground but consolidation, a chimney or a stiff crust"),
        Remark(_at_bound, "a parameter ended on its bound: the readings do not determine it; a heaving reach needs the linear fit"),
        Remark(lambda v: _misfits(v) > 2, "shape does not fit: the misfit is more than the noise; local loss, a structure, consolidation or a wrong axis"),
    ),
    kind="mean",
    source=LEAST_SQUARES,
)
def least_squares(
    readings: TroughReadings,
    excavation_diameter_m: Number,
    axis_depth_m: Number,
    volume_loss: Number = 0.01,
    trough_width_factor: Number = 0.5,
    fit_offset: Switch = "off",
    fit_ratio: Switch = "off",
    settlement_ratio_at_face: Number = 0.25,
    loss: RobustLoss = "linear",
) -> TroughFit:
    """Return volume loss and width that lie nearest the readings.

    Parameters
    ----------
    readings : background taken off; offset from the axis, settlement, its standard deviation, distance ahead of the face.
    excavation_diameter_m : cut diameter.
    axis_depth_m : surface to axis.
    volume_loss, trough_width_factor : where the search starts.
    fit_offset, fit_ratio : whether the centre and the share above the face are fitted too.
    settlement_ratio_at_face : fixed, or where the search starts.
    loss : how misfits beyond one and a half standard deviations count; ``linear`` takes all of them squared.
    """

    def at_start(diameter_m: float, depth_m: float, start_loss: float, start_factor: float, ratio: float) -> tuple[float, ...]:
        if not np.all(np.isfinite([diameter_m, depth_m, start_loss, start_factor, ratio])):
            return (np.nan,) * 7
        return _Fit(readings, diameter_m, depth_m, ratio, fit_offset == "on", fit_ratio == "on").solved(start_loss, start_factor, _SCIPY_LOSS[loss])

    names = ("volume_loss", "trough_width_factor", "trough_offset_m", "settlement_ratio_at_face", "volume_loss_sd", "trough_width_factor_sd", "chi_square")
    numbers = [excavation_diameter_m, axis_depth_m, volume_loss, trough_width_factor, settlement_ratio_at_face]
    return TroughFit(**dict(zip(names, each_place(at_start, len(names), numbers), strict=True)))


@dataclass(frozen=True, slots=True)
class _Fit:
    """One fit; parameters are ln V_L, ln K, then e over the axis depth and logit r where they are free."""

    readings: TroughReadings
    diameter_m: float
    depth_m: float
    ratio: float
    has_offset: bool
    has_ratio: bool

    def solved(self, start_loss: float, start_factor: float, loss: str) -> tuple[float, ...]:
        lower, upper = (
            self._whole(np.log(_LOSS_BOUNDS[at]), np.log(_FACTOR_BOUNDS[at]), (-1, 1)[at] * start_factor, special.logit(_RATIO_BOUNDS[at])) for at in (0, 1)
        )
        start = np.clip(self._whole(np.log(start_loss), np.log(start_factor), 0.0, special.logit(self.ratio)), lower + 1e-9, upper - 1e-9)
        found = optimize.least_squares(
            self._residuals, start, bounds=(lower, upper), loss=loss, f_scale=_OUTLIER_SIGMAS, xtol=1e-13, ftol=1e-13, gtol=1e-13, max_nfev=500
        )
        residuals = self._residuals(found.x)
        chi_square = float(residuals @ residuals)
        spare = residuals.size - found.x.size
        spread = np.sqrt(np.diag(np.linalg.pinv(found.jac.T @ found.jac)) * max(1.0, chi_square / spare if spare > 0 else 1.0))
        loss_fitted, factor, offset_m, ratio = self._parameters(found.x)
        return loss_fitted, factor, offset_m, ratio, loss_fitted * float(spread[0]), factor * float(spread[1]), chi_square

    def _whole(self, log_loss: float, log_factor: float, offset: float, logit_ratio: float) -> FloatArray:
        return np.array([log_loss, log_factor, *([offset] if self.has_offset else []), *([logit_ratio] if self.has_ratio else [])])

    def _parameters(self, whole: FloatArray) -> tuple[float, float, float, float]:
        offset_m = float(whole[2]) * self.depth_m if self.has_offset else 0.0
        return float(np.exp(whole[0])), float(np.exp(whole[1])), offset_m, float(special.expit(whole[-1])) if self.has_ratio else self.ratio

    def _residuals(self, whole: FloatArray) -> FloatArray:
        loss, factor, offset_m, ratio = self._parameters(whole)
        unit = unit_settlement(self.readings, self.diameter_m, np.asarray(factor * self.depth_m), np.asarray(offset_m), ratio)
        return np.asarray((loss * unit - self.readings.settlement_m) / self.readings.standard_deviation_m)
