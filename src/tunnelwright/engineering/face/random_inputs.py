"""Random inputs of a limit method: laws, Gaussian copula, and the limit for points of standard normal space."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, Self

import numpy as np
from scipy import special

from tunnelwright.vocabulary.calculate import read_inputs
from tunnelwright.vocabulary.method import METHODS, Method, prepared
from tunnelwright.vocabulary.remark import Fault, InputRefused
from tunnelwright.vocabulary.types import FloatArray, Table, TextArray, Values
from tunnelwright.vocabulary.units import convert, split_name, unit

LimitMethod = Literal["face.effective_support.wedge_silo", "face.effective_support.vermeer_2002", "face.undrained_support.davis_lower"]
Law = Literal["normal", "lognormal", "uniform", "normal_on_tangent", "lognormal_on_tangent"]
LIMIT_OF: Final[dict[str, str]] = {
    "face.effective_support.wedge_silo": "effective_support_pressure_kpa",
    "face.effective_support.vermeer_2002": "effective_support_pressure_kpa",
    "face.undrained_support.davis_lower": "required_face_pressure_axis_kpa",
}
# Columns of the silo that follow the random strength of the face where the rows give none.
_FOLLOWING: Final = ("cohesion_kpa", "friction_angle_rad")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RandomInputs(Table):
    """Inputs with a spread; on a tangent the mean stays an angle and the coefficient of variation is that of its tangent."""

    name: TextArray
    law: Law
    mean: FloatArray
    coefficient_of_variation: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Correlations(Table):
    """Correlations of the standard normals behind pairs of inputs."""

    first: TextArray
    second: TextArray
    correlation: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class RandomLimit:
    """A limit as a function of independent standard normal variables.

    Parameters
    ----------
    method : that gives the limit.
    fixed : inputs as the method takes them.
    names, laws, means, variations : of the random inputs, in the method's units.
    cholesky : lower triangle of the correlation of the standard normals.
    following : by column of the silo, the rows that follow the face.
    """

    method: Method
    fixed: dict[str, Any]
    names: tuple[str, ...]
    laws: tuple[str, ...]
    means: FloatArray
    variations: FloatArray
    cholesky: FloatArray
    following: Mapping[str, FloatArray]

    @classmethod
    def read(cls, limit_method: str, fixed_inputs: Mapping[str, Any], random_inputs: RandomInputs, correlations: Correlations | None) -> Self:
        """Return the limit for inputs as a person gives them.

        Raises
        ------
        InputRefused
            with every Fault of the inner inputs.
        """
        method = METHODS[limit_method]
        given = [str(name) for name in random_inputs.name]
        own = [_own_name(method, name) for name in given]
        unknown = [name for name, found in zip(given, own, strict=True) if not found[0]]
        if unknown or len({name for name, _ in own}) < len(own):
            raise InputRefused([_fault("random_inputs.name", ", ".join(unknown or given), f"must name different number inputs of {limit_method}")], method.id)
        names = tuple(name for name, _ in own)
        means = np.array([_converted(mean, text, method.inputs[name].unit) for (name, text), mean in zip(own, random_inputs.mean, strict=True)])
        at_mean = dict(zip(names, means, strict=True))
        fixed, following = _silo_following(fixed_inputs, at_mean)
        clean = read_inputs(method, {**fixed, **at_mean})
        return cls(
            method,
            {name: value for name, value in clean.items() if name not in names},
            names,
            tuple(str(law) for law in random_inputs.law),
            means,
            np.asarray(random_inputs.coefficient_of_variation),
            _cholesky(given, names, correlations),
            following,
        )

    def inputs_at(self, normals: FloatArray) -> dict[str, Any]:
        """Return the method's inputs for independent standard normals of shape (points, inputs)."""
        correlated = normals @ self.cholesky.T
        columns = zip(self.names, self.laws, self.means, self.variations, correlated.T, strict=True)
        sampled = {name: _of_law(law, mean, variation, normal) for name, law, mean, variation, normal in columns}
        inputs = {**self.fixed, **sampled}
        if self.following:
            inputs["layers"] = _silo_with(inputs["layers"], {name: rows for name, rows in self.following.items() if rows.any()}, inputs)
        return inputs

    def limit_kpa(self, normals: FloatArray) -> FloatArray:
        """Return the raw limit for independent standard normals of shape (points, inputs)."""
        record = self.method.function(**prepared(self.method, self.inputs_at(normals)))
        return np.broadcast_to(record.as_dict()[LIMIT_OF[self.method.id]], len(normals))


def _fault(field: str, given: str, required: str, hint: str = "") -> Fault:
    return Fault(where="face.window_probability", field=field, given=given, required=required, hint=hint)


def _own_name(method: Method, name: str) -> tuple[str, str]:
    """Return the method's own name of a number and the unit in which it was named; empty where there is none."""
    if name in method.inputs:
        return (name, method.inputs[name].unit) if method.inputs[name].shape.kind == "number" else ("", "")
    stem, given_unit = split_name(name)
    for own, one in method.inputs.items():
        if one.shape.kind == "number" and given_unit and split_name(own)[0] == stem and unit(one.unit).dimension == unit(given_unit).dimension:
            return own, given_unit
    return "", ""


def _converted(value: float, given_unit: str, own_unit: str) -> float:
    return float(value) if given_unit == own_unit else convert(float(value), given_unit, own_unit)


def _cholesky(given: list[str], names: tuple[str, ...], correlations: Correlations | None) -> FloatArray:
    matrix = np.eye(len(names))
    place: dict[str, int] = {name: at for at, name in enumerate(names)} | {name: at for at, name in enumerate(given)}
    for row in correlations.rows() if correlations is not None else []:
        first, second = place.get(str(row["first"])), place.get(str(row["second"]))
        if first is None or second is None or first == second:
            raise InputRefused([_fault("correlations", f"{row['first']}, {row['second']}", "must name two different random inputs")])
        matrix[first, second] = matrix[second, first] = float(row["correlation"])
    try:
        return np.asarray(np.linalg.cholesky(matrix))
    except np.linalg.LinAlgError:
        raise InputRefused([_fault("correlations.correlation", "values that contradict each other", "must make a positive definite matrix")]) from None


def _silo_following(fixed_inputs: Mapping[str, Any], at_mean: Mapping[str, float]) -> tuple[dict[str, Any], dict[str, FloatArray]]:
    """Return the fixed inputs with the silo's missing strength filled from the face, and which rows of it follow the face."""
    fixed = dict(fixed_inputs)
    rows = fixed.get("layers")
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        return fixed, {}
    following = {name: np.array([all(split_name(key)[0] != split_name(name)[0] for key in row) for row in rows]) for name in _FOLLOWING}
    face = {split_name(key)[0]: (key, value) for key, value in (*fixed.items(), *at_mean.items())}
    missing = [[face[split_name(name)[0]] for name, follows in following.items() if follows[at] and split_name(name)[0] in face] for at in range(len(rows))]
    fixed["layers"] = [{**row, **dict(filled)} for row, filled in zip(rows, missing, strict=True)]
    return fixed, {name: follows for name, follows in following.items() if follows.any()}


def _silo_with(layers: Any, following: Mapping[str, FloatArray], inputs: Values) -> Any:
    """Return the silo with the face's strength in the rows that follow it."""
    columns = {name: getattr(layers, name) for name in layers.columns()}
    for name, rows in following.items():
        columns[name] = np.where(rows, np.asarray(inputs[name], dtype=np.float64)[..., None], columns[name])
    return type(layers)(**columns)


def _of_law(law: str, mean: float, variation: float, normal: FloatArray) -> FloatArray:
    """Return values of a law for standard normals."""
    if law.endswith("_on_tangent"):
        return np.asarray(np.arctan(_of_law(law.removesuffix("_on_tangent"), float(np.tan(mean)), variation, normal)))
    if law == "lognormal":
        log_variance = np.log1p(variation**2)
        return np.asarray(mean * np.exp(np.sqrt(log_variance) * normal - log_variance / 2))
    if law == "uniform":
        return np.asarray(mean * (1 + variation * np.sqrt(3.0) * (2 * special.ndtr(normal) - 1)))
    return mean * (1 + variation * normal)
