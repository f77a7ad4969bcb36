"""The segmental lining: loads, ring forces, joints, section, handling, flotation."""

from tunnelwright.engineering.lining import (
    bedded,
    bursting,
    closed_forms,
    coupled,
    einstein,
    factors,
    flotation,
    gasket,
    handling,
    joint,
    loads,
    ovality,
    section,
    stiffness,
    strength,
    usual,
)

__all__ = [
    "bedded",
    "bursting",
    "closed_forms",
    "coupled",
    "einstein",
    "factors",
    "flotation",
    "gasket",
    "handling",
    "joint",
    "loads",
    "ovality",
    "section",
    "stiffness",
    "strength",
    "usual",
]
