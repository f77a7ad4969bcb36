"""The reconciliation of a drive: every criterion of every recorded ring, the state of each ring, the verdict in one sentence."""

from dataclasses import dataclass

import numpy as np

from tunnelwright.drive.plan import Plan
from tunnelwright.drive.reconcile.advice import Advice, advice_of
from tunnelwright.drive.reconcile.cycle import build_time, data_grade
from tunnelwright.drive.reconcile.face import chamber_unit_weight, face_pressure
from tunnelwright.drive.reconcile.grout import port_pressure, port_shares, rolling_deficit, unusual_volume, upper_third, volume_ratio
from tunnelwright.drive.reconcile.muck import MuckBalance, chart, last_five, muck_balance, single_ring
from tunnelwright.drive.reconcile.series import STATE_CODE, STATE_OF_CODE, CriterionSeries, worst_codes
from tunnelwright.drive.recorded import RecordedRings
from tunnelwright.vocabulary.criterion import Criterion, State
from tunnelwright.vocabulary.types import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reconciliation:
    """Criteria of every recorded ring.

    Parameters
    ----------
    series : the criteria, each over the rows of the record.
    ring_state : code of the state of every row.
    """

    plan: Plan
    recorded: RecordedRings
    balance: MuckBalance
    series: tuple[CriterionSeries, ...]
    ring_state: IntArray

    def row_of(self, ring_number: int) -> int | None:
        """Return the row of a ring in the record, None when the log did not see it."""
        found = np.flatnonzero(self.recorded.ring_number == ring_number)
        return int(found[0]) if len(found) else None

    def criteria(self, ring_number: int) -> list[Criterion]:
        """Return the criteria of one ring; of a ring that the log did not see each is not checked."""
        row = self.row_of(ring_number)
        if row is None:
            return [_unseen(one) for one in self.series]
        return [one.at(row) for one in self.series]

    def state(self, ring_number: int) -> State:
        """Return the state of one ring."""
        row = self.row_of(ring_number)
        return "not checked" if row is None else STATE_OF_CODE[int(self.ring_state[row])]

    def advice(self, ring_number: int) -> list[Advice]:
        """Return what to do about one ring."""
        row = self.row_of(ring_number)
        return [] if row is None else advice_of(self.plan, ring_number - 1, row, list(self.series))

    def rings_in_state(self, state: State) -> FloatArray:
        """Return the numbers of the rings in one state."""
        return self.recorded.ring_number[self.ring_state == STATE_CODE[state]]

    def counts(self, ring_number: int) -> dict[State, int]:
        """Return how many criteria of one ring are in each state."""
        found: dict[State, int] = dict.fromkeys(STATE_CODE, 0)
        for criterion in self.criteria(ring_number):
            found[criterion.state] += 1
        return found


def _unseen(one: CriterionSeries) -> Criterion:
    return Criterion(
        name=one.name, value=np.nan, operator=one.operator, limit_low=np.nan, limit_high=np.nan, unit=one.unit, state="not checked",
        comment="the log did not see this ring", life_hangs_on_it=one.life_hangs_on_it,
    )  # fmt: skip


def reconcile(plan: Plan, recorded: RecordedRings, scale_factor: float = 1.0) -> Reconciliation:
    """Return the reconciliation of a drive.

    Parameters
    ----------
    scale_factor : of the belt weigher, as a person has confirmed it.
    """
    balance = muck_balance(plan, recorded, scale_factor)
    series = (
        face_pressure(plan, recorded, "advancing"),
        face_pressure(plan, recorded, "standstill"),
        chamber_unit_weight(recorded),
        single_ring(plan, recorded, balance),
        last_five(plan, recorded, balance),
        chart(recorded, balance),
        volume_ratio(plan, recorded),
        unusual_volume(plan, recorded),
        rolling_deficit(plan, recorded),
        port_shares(plan, recorded),
        upper_third(plan, recorded),
        port_pressure(plan, recorded),
        build_time(recorded),
        data_grade(recorded),
    )
    return Reconciliation(plan=plan, recorded=recorded, balance=balance, series=series, ring_state=worst_codes(list(series), recorded.count))
