"""The programme: learning, logistics, queues, calendar, spread of dates, forecast from recorded rings."""

from tunnelwright.engineering.programme import (
    calendar,
    earned,
    forecast,
    learning,
    learning_posterior,
    logistics,
    monte_carlo,
    network,
    queue,
    uncertainty,
    working_time,
)

__all__ = [
    "calendar",
    "earned",
    "forecast",
    "learning",
    "learning_posterior",
    "logistics",
    "monte_carlo",
    "network",
    "queue",
    "uncertainty",
    "working_time",
]
