"""The parts of a project set against each other.

Every check is a function from a project to complaints. It names the parts it relies on, so that a folder with faults in one
file still gets the checks of all the others.
"""

from collections.abc import Callable, Iterator, Set
from typing import Final

from tunnelwright.drive.project.checks import axes, equipment, grounds, names, water
from tunnelwright.drive.project.checks.cautions import cautions
from tunnelwright.drive.project.checks.complaint import Complaint
from tunnelwright.drive.project.models import Project

Check = Callable[[Project], Iterator[Complaint]]

CHECKS: Final[tuple[tuple[frozenset[str], Check], ...]] = (
    (frozenset(), names.duplicates),
    (frozenset({"drives", "machines", "ring_types"}), names.drive_references),
    (frozenset({"units", "strata", "boreholes", "lenses", "aquifers"}), names.unit_references),
    (frozenset({"drives", "lenses", "aquifers", "free_water"}), names.drive_names_in_ground),
    (frozenset({"aquifers", "piezometers"}), names.aquifer_references),
    (frozenset({"machines"}), equipment.shield_dimensions),
    (frozenset({"machines"}), equipment.chamber),
    (frozenset({"drives", "machines", "ring_types"}), equipment.ring_in_tail),
    (frozenset({"drives", "axes", "machines", "ring_types"}), axes.drive_on_axis),
    (frozenset({"axes"}), axes.profile),
    (frozenset({"calendar", "drives"}), equipment.calendar),
    (frozenset({"boreholes", "strata"}), grounds.picks),
    (frozenset({"boreholes"}), grounds.holes_at_one_place),
    (frozenset({"drives", "axes", "boreholes"}), grounds.holes_near_a_drive),
    (frozenset({"lenses"}), grounds.lens_outlines),
    (frozenset({"drives", "axes", "surface", "machines"}), grounds.surface_covers_drives),
    (frozenset({"aquifers"}), water.heads_in_order),
    (frozenset({"drives", "axes", "surface", "aquifers", "units", "free_water"}), water.heads_and_surface),
    (frozenset({"piezometers", "surface"}), water.piezometers),
)


def complaints(project: Project, broken: Set[str] = frozenset()) -> list[Complaint]:
    """Return everything in a project that does not fit together, leaving out checks of broken parts."""
    return [complaint for needs, check in CHECKS if not needs & broken for complaint in check(project)]


__all__ = ["CHECKS", "Complaint", "cautions", "complaints"]
