"""Record against plan: criteria, states and what a person should do."""

from tunnelwright.drive.reconcile.advice import Advice, advice_of
from tunnelwright.drive.reconcile.model import Reconciliation, reconcile
from tunnelwright.drive.reconcile.muck import MuckBalance
from tunnelwright.drive.reconcile.series import STATE_CODE, STATE_OF_CODE, CriterionSeries

__all__ = ["STATE_CODE", "STATE_OF_CODE", "Advice", "CriterionSeries", "MuckBalance", "Reconciliation", "advice_of", "reconcile"]
