"""The exported plan table, as the crew reads it."""

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NEEDED: Final = (
    "ring_number",
    "chainage_m",
    "face_start_chainage_m",
    "face_end_chainage_m",
    "grout_ring_number",
    "target_crown_kpa",
    "operating_lower_crown_kpa",
    "target_axis_kpa",
    "excavated_volume_m3",
    "muck_mass_t",
    "density_t_m3",
    "solution_volume_m3",
    "grout_volume_m3",
    "grout_target_kpa",
)


class PlanRefused(Exception):
    """The plan table cannot be driven; `lines` say every reason, one a line."""

    def __init__(self, lines: list[str]) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlanTable:
    """What the crew follows, one entry per push; values that are not planned are carried on from the push before."""

    ring_number: NDArray[np.int64]
    chainage_m: Array
    face_start_chainage_m: Array
    face_end_chainage_m: Array
    target_axis_kpa: Array
    lower_axis_kpa: Array
    solution_volume_m3: Array
    added_water_t: Array
    grout_volume_m3: Array
    grout_target_kpa: Array

    @property
    def ring_count(self) -> int:
        """Return the number of pushes."""
        return len(self.ring_number)

    @property
    def ring_length_m(self) -> Array:
        """Return how far each push is to go."""
        return self.face_end_chainage_m - self.face_start_chainage_m


def read_plan_table(path: Path) -> PlanTable:
    """Return the plan table of a CSV file.

    Raises
    ------
    PlanRefused
        with every reason, when the file does not hold a plan.
    """
    columns = _columns(path)
    broken = [name for name in ("ring_number", "chainage_m", "face_start_chainage_m", "face_end_chainage_m") if np.isnan(columns[name]).any()]
    if broken:
        raise PlanRefused([f"{path.name}   {name}   must have a number in every row" for name in broken])
    if not np.all(np.diff(columns["ring_number"]) == 1) or not np.all(columns["face_end_chainage_m"] > columns["face_start_chainage_m"]):
        raise PlanRefused([f"{path.name}   ring_number, face_end_chainage_m   rings must follow each other one by one, and every push must go forwards"])
    return _followed(columns, path)


def _columns(path: Path) -> dict[str, Array]:
    try:
        lines = [line for line in path.read_text(encoding="utf-8-sig").splitlines() if line.strip() and not line.startswith("#")]
    except (OSError, UnicodeDecodeError) as reason:
        raise PlanRefused([f"{path.name}   cannot be read: {reason.__class__.__name__}"]) from None
    rows = list(csv.DictReader(lines))
    missing = [name for name in NEEDED if not rows or name not in rows[0]]
    if missing:
        raise PlanRefused([f"{path.name}   {name}   is needed, with at least one row" for name in missing])
    return {name: np.array([_number(row[name]) for row in rows]) for name in NEEDED}


def _number(text: str | None) -> float:
    try:
        return float(text or "nan")
    except ValueError:
        return float("nan")


def _followed(columns: dict[str, Array], path: Path) -> PlanTable:
    """Return the table with the crew's answers to what it leaves open: go on as in the push before."""
    kept = {name: _carried_on(values) for name, values in columns.items()}
    empty = [name for name, values in kept.items() if np.isnan(values).any()]
    if empty:
        raise PlanRefused([f"{path.name}   {name}   has no number in any row" for name in empty])
    ring_number = kept["ring_number"].astype(np.int64)
    # Grout is planned where the ring lies; the pump works at the outlet, some rings back.
    outlet_row = np.clip(kept["grout_ring_number"].astype(np.int64) - ring_number[0], 0, len(ring_number) - 1)
    soil_mass_t = kept["density_t_m3"] * kept["excavated_volume_m3"]
    return PlanTable(
        ring_number=ring_number,
        chainage_m=kept["chainage_m"],
        face_start_chainage_m=kept["face_start_chainage_m"],
        face_end_chainage_m=kept["face_end_chainage_m"],
        target_axis_kpa=kept["target_axis_kpa"],
        lower_axis_kpa=kept["target_axis_kpa"] - np.maximum(kept["target_crown_kpa"] - kept["operating_lower_crown_kpa"], 0.0),
        solution_volume_m3=kept["solution_volume_m3"],
        added_water_t=np.maximum(kept["muck_mass_t"] - soil_mass_t - kept["solution_volume_m3"], 0.0),
        grout_volume_m3=kept["grout_volume_m3"][outlet_row],
        grout_target_kpa=kept["grout_target_kpa"][outlet_row],
    )


def _carried_on(values: Array) -> Array:
    known = np.flatnonzero(np.isfinite(values))
    if not len(known):
        return values
    last = np.searchsorted(known, np.arange(len(values)), side="right") - 1
    return values[known[np.maximum(last, 0)]]
