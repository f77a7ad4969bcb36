"""Criteria of the cycle and of the record itself."""

import numpy as np

from tunnelwright.drive.reconcile.series import CriterionSeries, full, states, words
from tunnelwright.drive.recorded import RecordedRings

BUILD_WINDOW = 20
BUILD_FACTOR = 1.5
GRADED = ("face_pressure", "muck", "grout")


def build_time(recorded: RecordedRings) -> CriterionSeries:
    """Return the ring build time against one and a half times the running median of the last twenty."""
    value = recorded.number("build_s") / 60.0
    limit = np.full(recorded.count, np.nan)
    for row in range(BUILD_WINDOW // 2, recorded.count):
        limit[row] = (
            BUILD_FACTOR * np.nanmedian(value[max(0, row - BUILD_WINDOW) : row]) if np.isfinite(value[max(0, row - BUILD_WINDOW) : row]).any() else np.nan
        )
    unchecked = np.isnan(value) | np.isnan(limit)
    return CriterionSeries(
        key="build_time",
        name="Ring build time",
        place="ring",
        unit="min",
        operator="<=",
        value=value,
        limit_low=full(recorded.count, np.nan),
        limit_high=limit,
        state=states(recorded.count, act=np.zeros(recorded.count), watch=value > limit, unchecked=unchecked),
        comment=words(
            recorded.count,
            (np.isnan(value), "the build could not be told apart in the log"),
            (np.isnan(limit), "ten rings before are needed to compare with"),
            (value > limit, "half as long again as usual"),
        ),
        over_rings=True,
    )


def data_grade(recorded: RecordedRings) -> CriterionSeries:
    """Return the worst grade of the data behind face pressure, muck and grout: 1 = A, 2 = B, 3 = C; C in two rings in a row is an act."""
    grades = np.stack([np.select([recorded.word(f"grade_{name}") == grade for grade in "ABC"], [1.0, 2.0, 3.0], np.nan) for name in GRADED], axis=1)
    value = np.where(np.isnan(grades).all(axis=1), np.nan, np.nanmax(np.nan_to_num(grades, nan=0.0), axis=1))
    is_c = value == 3.0
    follows = np.concatenate([[False], (np.diff(recorded.ring_number) == 1) & is_c[:-1]])
    doubtful = [", ".join(name.replace("_", " ") for name, grade in zip(GRADED, row, strict=True) if grade >= 2.0) for row in grades]
    return CriterionSeries(
        key="data_grade",
        name="Data behind the readings",
        place="ring",
        unit="",
        operator="<=",
        value=value,
        limit_low=full(recorded.count, np.nan),
        limit_high=full(recorded.count, 1.0),
        state=states(recorded.count, act=is_c & follows, watch=value >= 2.0, unchecked=np.isnan(value)),
        comment=words(
            recorded.count,
            (np.isnan(value), "the record carries no grades"),
            (is_c & follows, [f"doubtful for the second ring in a row: {one}" for one in doubtful]),
            (value >= 2.0, [f"gaps, corrections or doubts in {one}" for one in doubtful]),
        ),
        method="record.grade.coverage",
    )
