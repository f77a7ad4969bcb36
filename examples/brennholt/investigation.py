"""What drilling, surveying and dipping showed of the true ground: boreholes with their errors, piezometers, the surface."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from examples.brennholt import ground_truth as truth
from examples.brennholt.places import plan_of
from numpy.random import Generator

# Crossfall of the surface and of every boundary, positive down to the right of the drive.
CROSSFALL = 0.012
PICK_SD_M = {"cored": 0.10, "cone": 0.15, "cable percussion": 0.30, "wash boring": 0.75}


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A place where a hole was put down, and what went wrong there.

    Parameters
    ----------
    end_level_m : where the hole was stopped.
    boundary_error_m : mistakes of the log, by unit, on the level of its top.
    level_error_m : mistake of the surveyed ground level; every stratum goes with it.
    """

    name: str
    chainage_m: float
    offset_m: float
    method: str = "cored"
    sealed: bool = True
    end_level_m: float = 64.0
    boundary_error_m: dict[str, float] = field(default_factory=dict)
    level_error_m: float = 0.0


SITES = (
    Site(name="BH01", chainage_m=-12.0, offset_m=11.0, end_level_m=66.0),
    Site(name="BH02", chainage_m=72.0, offset_m=-14.0, end_level_m=66.0),
    Site(name="BH03", chainage_m=168.0, offset_m=17.0, method="cable percussion"),
    Site(name="BH04", chainage_m=281.0, offset_m=-21.0),
    Site(name="BH05", chainage_m=388.0, offset_m=13.0),
    Site(name="BH06", chainage_m=471.0, offset_m=-9.0),
    Site(name="BH07", chainage_m=556.0, offset_m=8.0),
    Site(name="BH08", chainage_m=652.0, offset_m=-24.0, method="cable percussion"),
    Site(name="BH09", chainage_m=757.0, offset_m=12.0),
    # An old hole of another project, levelled in the old datum: everything in it lies 1.3 m too high.
    Site(name="OH10", chainage_m=838.0, offset_m=46.0, method="wash boring", level_error_m=1.3, end_level_m=72.0),
    Site(name="BH11", chainage_m=893.0, offset_m=-16.0),
    # Reworked gravel at the flank of the buried channel was logged as clay.
    Site(name="BH12", chainage_m=988.0, offset_m=19.0, method="wash boring", boundary_error_m={"SC": 1.7}),
    Site(name="BH13", chainage_m=1072.0, offset_m=-12.0),
    # Stopped in the clay, far above the drive.
    Site(name="BH14", chainage_m=1163.0, offset_m=27.0, method="cable percussion", end_level_m=82.0),
    # Nearly on the axis, and nobody has a record of its backfill.
    Site(name="OH15", chainage_m=1236.0, offset_m=2.9, sealed=False, end_level_m=69.0),
    Site(name="BH16", chainage_m=1334.0, offset_m=-18.0),
    Site(name="CT17", chainage_m=1447.0, offset_m=9.0, method="cone"),
    Site(name="BH18", chainage_m=1538.0, offset_m=-15.0),
    Site(name="BH19", chainage_m=1642.0, offset_m=22.0),
    Site(name="BH20", chainage_m=1757.0, offset_m=-11.0, method="cable percussion"),
    Site(name="CT21", chainage_m=1868.0, offset_m=16.0, method="cone"),
    Site(name="BH22", chainage_m=1984.0, offset_m=-13.0),
    Site(name="BH23", chainage_m=2102.0, offset_m=19.0),
    Site(name="BH24", chainage_m=2226.0, offset_m=-10.0),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole as logged: strata from the top down as code, top and base level."""

    site: Site
    easting_m: float
    northing_m: float
    ground_level_m: float
    base_level_m: float
    strata: tuple[tuple[str, float, float], ...]


def drill(random: Generator) -> tuple[Hole, ...]:
    """Return all holes as they were logged."""
    return tuple(_drilled(site, random) for site in SITES)


def _drilled(site: Site, random: Generator) -> Hole:
    """Sink one hole: true boundaries with the crossfall, the blur of its method and its own mistakes, cut off where it ended."""
    easting, northing = plan_of(truth.EAST.axis).beside(site.chainage_m, site.offset_m)
    ground = round(_beside(truth.ground_level_m, site) + site.level_error_m, 2)
    tops = [("MG", ground)]
    for code, level in (("RG", truth.gravel_top_level_m), ("SC", truth.clay_top_level_m), ("DS", truth.dense_sand_top_level_m)):
        logged = _beside(level, site) + site.level_error_m + site.boundary_error_m.get(code, 0.0) + random.normal(0.0, PICK_SD_M[site.method])
        tops.append((code, round(min(logged, tops[-1][1] - 0.3), 1)))
    reached = [(code, top) for code, top in tops if top > site.end_level_m + 0.3]
    bases = [top for _, top in reached[1:]] + [site.end_level_m]
    strata = tuple((code, top, base) for (code, top), base in zip(reached, bases, strict=True))
    return Hole(site=site, easting_m=float(easting), northing_m=float(northing), ground_level_m=ground, base_level_m=site.end_level_m, strata=strata)


def _beside(level: Callable[[float], np.ndarray], site: Site) -> float:
    return float(level(site.chainage_m)) - CROSSFALL * site.offset_m


def boreholes_csv(holes: tuple[Hole, ...]) -> str:
    """Return the table of boreholes."""
    rows = ["borehole,easting_m,northing_m,ground_level_m,depth_m,method,sealed"]
    for hole in holes:
        depth, sealed = hole.ground_level_m - hole.base_level_m, str(hole.site.sealed).lower()
        rows.append(f"{hole.site.name},{hole.easting_m:.2f},{hole.northing_m:.2f},{hole.ground_level_m:.2f},{depth:.2f},{hole.site.method},{sealed}")
    return "\n".join(rows) + "\n"


def strata_csv(holes: tuple[Hole, ...]) -> str:
    """Return the table of strata; sand within the clay is not in it but in the lenses."""
    rows = ["# Sand bands within the clay are drawn as lenses, in lenses.toml.", "borehole,unit,top_level_m,base_level_m"]
    rows += [f"{hole.site.name},{code},{top:.2f},{base:.2f}" for hole in holes for code, top, base in hole.strata]
    return "\n".join(rows) + "\n"


def piezometers_csv(random: Generator) -> str:
    """Return the readings of the piezometers: two seasons, one instrument not read since it was set."""
    plan = plan_of(truth.EAST.axis)
    rows = ["piezometer,aquifer,easting_m,northing_m,tip_level_m,head_level_m,date"]
    for number, (chainage, offset) in enumerate(((70.0, -14.5), (470.0, -10.0), (893.0, -15.0), (1334.0, -17.0), (1757.0, -12.0), (2226.0, -11.0)), start=1):
        easting, northing = plan.beside(chainage, offset)
        upper_tip, lower_tip = float(truth.clay_top_level_m(chainage)) + 1.0, float(truth.dense_sand_top_level_m(chainage)) - 1.5
        for aquifer, tip, head in (("upper", upper_tip, truth.upper_head_level_m), ("lower", lower_tip, truth.lower_head_level_m)):
            dates = (
                (("2024-05-21", 0.2),)
                if (number, aquifer) == (4, "upper")
                else (("2025-03-18", 0.5), ("2025-06-24", 0.1), ("2025-10-07", -0.4), ("2026-01-20", 0.1))
            )
            for date, season in dates:
                level = float(head(chainage)) + season + random.normal(0.0, 0.05)
                rows.append(f"PZ{number}{aquifer[0].upper()},{aquifer},{float(easting):.2f},{float(northing):.2f},{tip:.1f},{level:.2f},{date}")
    return "\n".join(rows) + "\n"


def surface_csv(random: Generator) -> str:
    """Return the survey of the surface: rows across the drive, 20 m apart."""
    plan = plan_of(truth.EAST.axis)
    rows = ["easting_m,northing_m,level_m"]
    for chainage in np.arange(-80.0, 2321.0, 20.0):
        offset = np.array([-70.0, -30.0, 0.0, 30.0, 70.0])
        easting, northing = plan.beside(chainage, offset)
        level = truth.ground_level_m(chainage) - CROSSFALL * offset + random.normal(0.0, 0.03, offset.shape)
        rows += [f"{east:.2f},{north:.2f},{up:.2f}" for east, north, up in zip(easting, northing, level, strict=True)]
    return "\n".join(rows) + "\n"
