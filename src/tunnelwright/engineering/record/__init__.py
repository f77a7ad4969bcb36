"""From samples to rings: the numeric reference of the log engine, and the charts over rings."""

from tunnelwright.engineering.record.alert import alert_replay
from tunnelwright.engineering.record.charts import cusum_chart, ewma_chart, robust_base
from tunnelwright.engineering.record.counter import counter_difference, methods_disagree
from tunnelwright.engineering.record.cycle import schmitt_cycles, schmitt_transitions
from tunnelwright.engineering.record.integral import dry_solids, rate_integral
from tunnelwright.engineering.record.pressure import chamber_pressure_at_levels
from tunnelwright.engineering.record.ring_number import belt_arrival_time, grout_ring_shift, ring_number_chain
from tunnelwright.engineering.record.run_length import cusum_run_length, ewma_run_length, shewhart_run_length
from tunnelwright.engineering.record.shift import best_period, downtime_shift, grade_of_coverage
from tunnelwright.engineering.record.trend import change_points, theil_sen
from tunnelwright.engineering.record.weighted import mean_weighted, percentile_weighted, stroke_run_maximum, time_outside

__all__ = [
    "alert_replay",
    "belt_arrival_time",
    "best_period",
    "chamber_pressure_at_levels",
    "change_points",
    "counter_difference",
    "cusum_chart",
    "cusum_run_length",
    "downtime_shift",
    "dry_solids",
    "ewma_chart",
    "ewma_run_length",
    "grade_of_coverage",
    "grout_ring_shift",
    "mean_weighted",
    "methods_disagree",
    "percentile_weighted",
    "rate_integral",
    "ring_number_chain",
    "robust_base",
    "schmitt_cycles",
    "schmitt_transitions",
    "shewhart_run_length",
    "stroke_run_maximum",
    "theil_sen",
    "time_outside",
]
