"""What must hold of any programme: sums that add up, bounds that bound, dates that do not run backwards, formats that undo themselves."""

import datetime
import itertools
import zoneinfo

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tunnelwright.engineering import load_methods
from tunnelwright.vocabulary.calculate import calculate
from tunnelwright.vocabulary.method import METHODS

load_methods()
SETTINGS = settings(max_examples=25, deadline=None, derandomize=True)
LEARNING = {
    "programme.learning.exponential": {"start_factor": 2.4, "ring_constant": 45.0},
    "programme.learning.wright_1936": {"learning_rate": 0.88},
    "programme.learning.de_jong_1957": {"learning_rate": 0.8, "incompressible_share": 0.4},
    "programme.learning.ramp": {"start_performance": 0.4, "ramp_ring_count": 63.5},
}
busy_times = st.lists(st.floats(60.0, 4000.0), min_size=1, max_size=5)


@pytest.mark.parametrize("form", LEARNING)
@SETTINGS
@given(count=st.integers(2, 3000))
def test_the_last_ring_is_what_it_adds_to_the_sum(form: str, count: int) -> None:
    without, all_rings = METHODS[form](**LEARNING[form], ring_count=[count - 1.0, float(count)]).learning_sum
    assert all_rings - without == pytest.approx(float(METHODS[form](**LEARNING[form], ring_count=count).learning_factor), rel=1e-8)


@pytest.mark.parametrize("form", LEARNING)
@SETTINGS
@given(count=st.integers(1, 5000), mature_s=st.floats(100.0, 2e4))
def test_the_time_of_so_many_rings_holds_so_many_rings(form: str, count: int, mature_s: float) -> None:
    needed_s = float(METHODS[form](**LEARNING[form], ring_count=count, mature_cycle_time_s=mature_s).total_time_s)
    held = METHODS[form](**LEARNING[form], ring_count=count, mature_cycle_time_s=mature_s, available_time_s=[needed_s, needed_s * (1 - 1e-9)])
    assert held.ring_count_in_time.tolist() == [count, count - 1]


@SETTINGS
@given(busy=busy_times, travel_s=st.floats(0.0, 2e4), trains=st.integers(1, 12))
def test_random_service_lies_between_clockwork_and_its_bound(busy: list[float], travel_s: float, trains: int) -> None:
    place = {"busy_times_s": busy, "travel_time_s": travel_s}
    bounds = METHODS["programme.logistics.bounds"](**place, train_count=trains)
    mean = METHODS["programme.logistics.mean_value_analysis"](**place, train_count=[trains, trains + 1])
    assert float(bounds.period_deterministic_s) * (1 - 1e-9) <= mean.period_s[0] <= float(bounds.period_upper_bound_s) * (1 + 1e-9)
    assert mean.period_s[1] <= mean.period_s[0] * (1 + 1e-9)
    assert np.sum(mean.queue_count, axis=-1) + travel_s / mean.period_s == pytest.approx([trains, trains + 1])


@SETTINGS
@given(busy=busy_times, speed=st.floats(4.0, 20.0), trains=st.integers(1, 8), switch_s=st.floats(0.0, 300.0), spare=st.floats(1.01, 3.0))
def test_at_its_limit_the_supply_just_keeps_up(busy: list[float], speed: float, trains: int, switch_s: float, spare: float) -> None:
    cycle_s = spare * max(busy)
    limit = METHODS["programme.logistics.supply_limit_distance"](
        busy_times_s=busy, speed_km_h=speed, train_count=trains, cycle_time_s=cycle_s, switch_time_s=switch_s
    )
    distance_m = float(limit.distance_m)
    assume(distance_m > 0)
    trip = METHODS["programme.logistics.trip_time"](distance_m=distance_m, speed_km_h=speed, switch_time_s=switch_s, loop_count=2)
    bounds = METHODS["programme.logistics.bounds"](busy_times_s=busy, travel_time_s=trip.trip_time_s, train_count=trains)
    assert float(bounds.period_deterministic_s) == pytest.approx(cycle_s)


@SETTINGS
@given(sources=st.integers(1, 40), run_s=st.floats(100.0, 1e5), service_s=st.floats(10.0, 1e4))
def test_sources_are_served_as_often_as_they_call(sources: int, run_s: float, service_s: float) -> None:
    found = METHODS["programme.queue.machine_repair"](source_count=sources, mean_run_time_s=run_s, mean_service_time_s=service_s)
    calls_1_s = (sources - found.number_in_system) / run_s
    assert float(calls_1_s * found.time_in_system_s) == pytest.approx(float(found.number_in_system), rel=1e-6)
    assert 0 <= float(found.probability_empty) <= 1


SHIFTS = [{"weekday": day, "start_h": start, "end_h": end} for day in range(1, 6) for start, end in ((6, 14.5), (21.25, 29))]
DAYS_OFF = ["2025-03-31", "2025-04-18", "2025-04-21"]


@SETTINGS
@given(start_minute=st.integers(0, 60 * 24 * 40), minutes=st.integers(1, 60 * 200))
def test_the_finish_holds_the_work_and_no_minute_more(start_minute: int, minutes: int) -> None:
    start = datetime.datetime(2025, 3, 10) + datetime.timedelta(minutes=start_minute)
    zone = zoneinfo.ZoneInfo("CET")
    # The hour that the clocks leave out has no moment to start from.
    assume(not (start.date() == datetime.date(2025, 3, 30) and start.hour == 2))
    plan = {"shifts": SHIFTS, "zone": "CET", "start": start.isoformat(timespec="minutes"), "holidays": DAYS_OFF}
    found = calculate("programme.calendar.finish", {**plan, "working_time_s": 60.0 * minutes}).record
    end = datetime.datetime.fromisoformat(str(found.finish))
    assert str(end.astimezone(zone)) == str(end)
    begin = start.replace(tzinfo=zone).astimezone(datetime.UTC)
    count = round((end - begin).total_seconds() / 60)
    worked = [_is_working_minute(begin + datetime.timedelta(minutes=one), zone) for one in range(count)]
    assert sum(worked) == minutes
    # The earliest such moment: the minute before it was one of work.
    assert worked[-1]


def _is_working_minute(moment: datetime.datetime, zone: zoneinfo.ZoneInfo) -> bool:
    local = moment.astimezone(zone)
    hour, weekday = local.hour + local.minute / 60, local.isoweekday()
    today = any(one["weekday"] == weekday and one["start_h"] <= hour < one["end_h"] for one in SHIFTS)
    from_yesterday = any(one["weekday"] == (weekday - 2) % 7 + 1 and hour + 24 < one["end_h"] for one in SHIFTS)
    return (today or from_yesterday) and local.date().isoformat() not in DAYS_OFF


@SETTINGS
@given(first=st.floats(-50, 50), second=st.floats(-50, 50), spread_1=st.floats(0.1, 30), spread_2=st.floats(0.1, 30), together=st.floats(-0.99, 0.99))
def test_the_later_date_does_not_ask_which_is_first(first: float, second: float, spread_1: float, spread_2: float, together: float) -> None:
    later = METHODS["programme.network.later_of_two"]
    one = later(mean_first=first, sd_first=spread_1, mean_second=second, sd_second=spread_2, correlation=together)
    other = later(mean_first=second, sd_first=spread_2, mean_second=first, sd_second=spread_1, correlation=together)
    for name in ("mean", "standard_deviation", "p50", "p80", "p90"):
        assert float(getattr(one, name)) == pytest.approx(float(getattr(other, name)), rel=1e-6, abs=1e-6)
    assert float(one.probability_first_later) + float(other.probability_first_later) == pytest.approx(1)
    assert float(one.mean) >= max(first, second) - 1e-9
    assert float(one.p50) <= float(one.p80) <= float(one.p90)


@SETTINGS
@given(rings=st.lists(st.floats(-1, 1), min_size=2, max_size=12), cut=st.integers(1, 11), prior=st.floats(-0.5, 0.5))
def test_rings_teach_the_same_in_one_lot_or_two(rings: list[float], cut: int, prior: float) -> None:
    assume(cut < len(rings))
    update = METHODS["programme.forecast.normal_inverse_gamma"]
    at_once = update(y=rings, prior_mean=prior)
    first = update(y=rings[:cut], prior_mean=prior)
    then = update(
        y=rings[cut:],
        prior_mean=first.posterior_mean,
        prior_count=first.posterior_count,
        prior_alpha=first.posterior_alpha,
        prior_beta=first.posterior_beta,
    )
    for name in ("posterior_mean", "posterior_count", "posterior_alpha", "posterior_beta", "predictive_quantile"):
        assert float(getattr(then, name)) == pytest.approx(float(getattr(at_once, name)), rel=1e-9, abs=1e-12)


@SETTINGS
@given(factor=st.floats(1.2, 3.5), constant=st.floats(6.0, 40.0), mature=st.floats(40.0, 200.0))
def test_rings_on_a_curve_give_the_curve_back(factor: float, constant: float, mature: float) -> None:
    number = np.arange(60)
    found = METHODS["programme.forecast.learning_posterior"](
        ring_time=mature * (1 + (factor - 1) * np.exp(-number / constant)), log_sd=0.002, prior_mature_median=100.0, prior_mature_log_sd=2.0,
        start_factor_low=1.0, start_factor_high=4.0, ring_constant_low=3.0, ring_constant_high=80.0, last_ring_count=200,
    )  # fmt: skip
    ahead = np.arange(60, 200)
    remaining = float(np.sum(mature * (1 + (factor - 1) * np.exp(-ahead / constant))))
    assert float(found.mature_mean) == pytest.approx(mature, rel=0.03)
    assert float(found.start_factor_mean) == pytest.approx(factor, rel=0.03)
    assert float(found.remaining_p10) <= remaining * 1.02
    assert float(found.remaining_p90) >= remaining * 0.98


@SETTINGS
@given(built=st.lists(st.integers(0, 12), min_size=2, max_size=12), share=st.floats(0.01, 1.0))
def test_the_plan_at_the_earned_time_has_what_is_built(built: list[int], share: float) -> None:
    planned = [0, *itertools.accumulate(built)]
    assume(planned[-1] > 0)
    rows = [{"time": float(week), "rings": float(count)} for week, count in enumerate(planned)]
    rings = share * planned[-1]
    found = calculate("programme.earned.schedule", {"planned": rows, "built_rings": rings, "now": 5.0}).record
    earned = float(found.earned_time)
    assert np.interp(earned, range(len(planned)), planned) == pytest.approx(rings)
    assert np.interp(earned - 1e-6, range(len(planned)), planned) < rings


@SETTINGS
@given(
    bulge=st.floats(-5, 5).filter(lambda one: abs(one) > 0.01),
    end=st.tuples(st.floats(-90, 90), st.floats(-90, 90)).filter(lambda point: abs(point[0]) + abs(point[1]) > 1),
)
def test_drawing_and_alignment_file_mean_the_same_arc(bulge: float, end: tuple[float, float]) -> None:
    drawn = METHODS["exchange.dxf.bulge_arc"](start_x_m=5.0, start_y_m=-3.0, end_x_m=5 + end[0], end_y_m=-3 + end[1], bulge=bulge)
    written = METHODS["exchange.landxml.arc_centre"](
        start_easting_m=5.0, start_northing_m=-3.0, end_easting_m=5 + end[0], end_northing_m=-3 + end[1], radius_m=float(drawn.radius_m),
        rotation="ccw" if bulge > 0 else "cw", longer_arc="yes" if abs(bulge) > 1 else "no",
    )  # fmt: skip
    # Near a half circle the centre follows from a radius with half of its digits only.
    assert float(written.centre_easting_m) == pytest.approx(float(drawn.centre_x_m), abs=1e-4)
    assert float(written.centre_northing_m) == pytest.approx(float(drawn.centre_y_m), abs=1e-4)
    assert float(written.arc_length_m) == pytest.approx(float(drawn.radius_m * abs(drawn.sweep_rad)), rel=1e-5)


@SETTINGS
@given(grade_1=st.floats(-0.06, 0.06), grade_2=st.floats(-0.06, 0.06), radius=st.floats(200, 2e4), share=st.floats(0.0, 1.0))
def test_a_flat_circle_is_its_parabola(grade_1: float, grade_2: float, radius: float, share: float) -> None:
    pvi = {"pvi_station_m": 1000.0, "pvi_level_m": 30.0, "start_gradient": grade_1, "end_gradient": grade_2}
    ends = METHODS["exchange.landxml.vertical_circle"](**pvi, radius_m=radius, station_m=0.0)
    station = float(ends.tangent_in_station_m + share * (ends.tangent_out_station_m - ends.tangent_in_station_m))
    circle = METHODS["exchange.landxml.vertical_circle"](**pvi, radius_m=radius, station_m=station)
    parabola = METHODS["exchange.landxml.vertical_parabola"](
        **pvi, length_m=float(circle.tangent_out_station_m - circle.tangent_in_station_m), station_m=station
    )
    length = float(circle.arc_length_m)
    # The two differ by the third power of the slope at most.
    assert float(circle.level_m) == pytest.approx(float(parabola.level_m), abs=1e-3 * length * 0.06 + 1e-9)
    assert float(circle.gradient) == pytest.approx(float(parabola.gradient), abs=1e-3)


@SETTINGS
@given(degrees=st.integers(0, 359), minutes=st.integers(0, 59), seconds=st.integers(0, 59), sign=st.sampled_from([-1, 1]))
def test_every_angle_of_degrees_minutes_and_seconds_is_read_whole(degrees: int, minutes: int, seconds: int, sign: int) -> None:
    written = sign * float(f"{degrees}.{minutes:02d}{seconds:02d}")
    found = calculate("exchange.landxml.angle", {"angle_value": written, "angle_unit": "dd.mmss"}).record
    assert np.degrees(float(found.angle_rad)) == pytest.approx(sign * (degrees + minutes / 60 + seconds / 3600), abs=1e-9)
