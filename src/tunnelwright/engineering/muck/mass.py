"""Mass expected on the belt, with its spread, of one push and of many."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from tunnelwright.engineering.muck.sources import ERROR_PROPAGATION, MASS_BALANCE
from tunnelwright.engineering.places import each_place
from tunnelwright.vocabulary.formula import Formula
from tunnelwright.vocabulary.method import Algorithm, Range, method
from tunnelwright.vocabulary.types import Count, FloatArray, Number, Record


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExpectedMass(Record):
    """Mass that should pass the weigher."""

    muck_mass_t: FloatArray
    dry_mass_t: FloatArray
    paste_water_content: FloatArray


@method(
    "muck.mass.expected",
    formulas={
        "muck_mass_t": Formula("m", "rho * V + rho_sol * V_sol * (1 - f_d) + m_pol + m_ben + m_w + m_in - m_st"),
        "dry_mass_t": Formula("m_d", "rho * V / (1 + w) + m_ben"),
        "paste_water_content": Formula("w_p", "(w * rho * V / (1 + w) + rho_sol * V_sol * (1 - f_d) + m_pol + m_w + m_in) / m_d"),
    },
    symbols={
        "drained_share": "f_d",
        "polymer_mass_t": "m_pol",
        "bentonite_mass_t": "m_ben",
        "inflow_t": "m_in",
        "chamber_storage_growth_t": "m_st",
        "solution_density_t_m3": "rho_sol",
    },
    possible={
        "drained_share": (0.0, 1.0),
        "polymer_mass_t": (0.0, 500.0),
        "bentonite_mass_t": (0.0, 500.0),
        "inflow_t": (0.0, 1000.0),
        "chamber_storage_growth_t": (-500.0, 500.0),
        "solution_density_t_m3": (0.8, 1.3),
    },
    valid={"drained_share": Range(0.0, 0.3, "what is seen to drain into the ground")},
    kind="mean",
    source=MASS_BALANCE,
)
def expected_mass(
    density_t_m3: Number,
    water_content: Number,
    excavated_volume_m3: Number,
    solution_volume_m3: Number = 0.0,
    drained_share: Number = 0.0,
    polymer_mass_t: Number = 0.0,
    bentonite_mass_t: Number = 0.0,
    added_water_t: Number = 0.0,
    inflow_t: Number = 0.0,
    chamber_storage_growth_t: Number = 0.0,
    solution_density_t_m3: Number = 1.0,
) -> ExpectedMass:
    """Return the mass that should come out with one push, and the water content of the paste.

    Parameters
    ----------
    density_t_m3 : in the ground, weighted with the areas in a mixed face.
    water_content : in the ground, water over grains by mass.
    excavated_volume_m3 : volume in the ground.
    solution_volume_m3 : foam solution; air has volume but no mass.
    drained_share : part of the solution that went into the ground.
    polymer_mass_t : polymer solution, counted as liquid.
    bentonite_mass_t : counted as solids.
    added_water_t : water let into the chamber or before the head.
    inflow_t : ground water that came in.
    chamber_storage_growth_t : soil that stayed in the chamber, positive while it fills.
    solution_density_t_m3 : of the foam solution.
    """
    ground_t = np.multiply(density_t_m3, excavated_volume_m3)
    solution_t = solution_density_t_m3 * np.multiply(solution_volume_m3, np.subtract(1.0, drained_share))
    liquids_t = solution_t + polymer_mass_t + added_water_t + inflow_t
    dry_t = ground_t / np.add(1.0, water_content) + bentonite_mass_t
    return ExpectedMass(
        muck_mass_t=ground_t + liquids_t + bentonite_mass_t - chamber_storage_growth_t,
        dry_mass_t=dry_t,
        paste_water_content=(water_content * ground_t / np.add(1.0, water_content) + liquids_t) / dry_t,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MassSpread(Record):
    """Expected mass and its standard deviation."""

    muck_mass_t: FloatArray
    muck_mass_sd_t: FloatArray
    relative_sd: FloatArray


_MASS: Final = Formula("m", "pi / 4 * D^2 * x_s * rho + m_w + m_sol")
_SD_SYMBOLS: Final = {
    "excavation_diameter_sd_mm": "s_D",
    "stroke_sd_mm": "s_x",
    "density_sd_ratio": "s_rho",
    "added_water_sd_ratio": "s_w",
    "solution_sd_ratio": "s_sol",
    "weigher_sd_ratio": "s_weigh",
}


@method(
    "muck.mass.expected_uncertainty",
    formulas={
        "muck_mass_t": _MASS,
        "muck_mass_sd_t": Formula(
            "s_m",
            "sqrt((pi / 2 * D * x_s * rho * s_D / 1000)^2 + (pi / 4 * D^2 * rho * s_x / 1000)^2 + (pi / 4 * D^2 * x_s * rho * s_rho)^2"
            " + (m_w * s_w)^2 + (m_sol * s_sol)^2 + (m * s_weigh)^2)",
        ),
        "relative_sd": Formula("q_m", "s_m / m"),
    },
    symbols=_SD_SYMBOLS,
    kind="mean",
    source=ERROR_PROPAGATION,
)
def expected_mass_spread(
    excavation_diameter_m: Number,
    stroke_m: Number,
    density_t_m3: Number,
    added_water_t: Number = 0.0,
    solution_mass_t: Number = 0.0,
    excavation_diameter_sd_mm: Number = 0.0,
    stroke_sd_mm: Number = 0.0,
    density_sd_ratio: Number = 0.0,
    added_water_sd_ratio: Number = 0.0,
    solution_sd_ratio: Number = 0.0,
    weigher_sd_ratio: Number = 0.0,
) -> MassSpread:
    """Return the expected mass of a push and its standard deviation to first order.

    Parameters
    ----------
    excavation_diameter_m : diameter really cut.
    stroke_m : measured stroke.
    density_t_m3 : in the ground.
    added_water_t : water added.
    solution_mass_t : foam solution added.
    excavation_diameter_sd_mm : standard deviation of the diameter; all of these default to 0 and are independent of each other.
    stroke_sd_mm : standard deviation of the stroke.
    density_sd_ratio : standard deviation of the density over the density.
    added_water_sd_ratio : of the water meter, relative.
    solution_sd_ratio : of the solution meter, relative.
    weigher_sd_ratio : of the belt weigher, relative to the whole mass.

    Notes
    -----
    Call it once with the ring noise and once with what neighbouring rings have in common: the limit of one ring takes the first, that of a sum both.
    """
    area_m2 = np.pi / 4 * np.square(excavation_diameter_m)
    ground_t = area_m2 * stroke_m * density_t_m3
    mass_t = ground_t + added_water_t + solution_mass_t
    terms = (
        2 * ground_t / excavation_diameter_m * np.divide(excavation_diameter_sd_mm, 1000),
        area_m2 * density_t_m3 * np.divide(stroke_sd_mm, 1000),
        ground_t * density_sd_ratio,
        np.multiply(added_water_t, added_water_sd_ratio),
        np.multiply(solution_mass_t, solution_sd_ratio),
        mass_t * weigher_sd_ratio,
    )
    sd_t = np.sqrt(sum(np.square(term) for term in terms))
    with np.errstate(divide="ignore", invalid="ignore"):
        return MassSpread(muck_mass_t=mass_t, muck_mass_sd_t=sd_t, relative_sd=np.divide(sd_t, mass_t))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledMass(Record):
    """Expected mass and standard deviation from samples."""

    muck_mass_t: FloatArray
    muck_mass_sd_t: FloatArray


@method(
    "muck.mass.expected_monte_carlo",
    found_by={
        "muck_mass_t": Algorithm("mean over normal samples of pi / 4 D^2 x_s rho + water + solution, times the weigher's error"),
        "muck_mass_sd_t": Algorithm("standard deviation over the same samples", invariants={"not negative": lambda v: not np.any(v["muck_mass_sd_t"] < 0)}),
    },
    symbols=_SD_SYMBOLS,
    # One sample has no spread; six errors each for more than a million would not fit into the memory of a small machine.
    possible={"sample_count": (2.0, 1e6)},
    kind="mean",
    source=ERROR_PROPAGATION,
)
def expected_mass_sampled(
    excavation_diameter_m: Number,
    stroke_m: Number,
    density_t_m3: Number,
    added_water_t: Number = 0.0,
    solution_mass_t: Number = 0.0,
    excavation_diameter_sd_mm: Number = 0.0,
    stroke_sd_mm: Number = 0.0,
    density_sd_ratio: Number = 0.0,
    added_water_sd_ratio: Number = 0.0,
    solution_sd_ratio: Number = 0.0,
    weigher_sd_ratio: Number = 0.0,
    sample_count: Count = 10000,
    seed: Count = 1,
) -> SampledMass:
    """Return the expected mass of a push and its standard deviation by sampling; equals first order when errors are small.

    Parameters
    ----------
    excavation_diameter_m : diameter really cut.
    stroke_m : measured stroke.
    density_t_m3 : in the ground.
    added_water_t : water added.
    solution_mass_t : foam solution added.
    excavation_diameter_sd_mm : standard deviation of the diameter; all of these default to 0 and are independent of each other.
    stroke_sd_mm : standard deviation of the stroke.
    density_sd_ratio : standard deviation of the density over the density.
    added_water_sd_ratio : of the water meter, relative.
    solution_sd_ratio : of the solution meter, relative.
    weigher_sd_ratio : of the belt weigher, relative to the whole mass.
    sample_count : number of samples.
    seed : start of the random numbers; every ring sees the same ones.
    """
    errors = np.random.default_rng(int(seed)).standard_normal((6, int(sample_count)))

    def sampled(*given: Any) -> tuple[float, float]:
        diameter_m, stroke, density, water_t, solution_t, *sds = given
        bore, push, soil, meter, dose, weigher = (sd * error for sd, error in zip(sds, errors, strict=True))
        ground_t = np.pi / 4 * np.square(diameter_m + bore / 1000) * (stroke + push / 1000) * density * (1 + soil)
        mass_t = (ground_t + water_t * (1 + meter) + solution_t * (1 + dose)) * (1 + weigher)
        return float(mass_t.mean()), float(mass_t.std(ddof=1))

    numbers = (
        excavation_diameter_m, stroke_m, density_t_m3, added_water_t, solution_mass_t,
        excavation_diameter_sd_mm, stroke_sd_mm, density_sd_ratio, added_water_sd_ratio, solution_sd_ratio, weigher_sd_ratio,
    )  # fmt: skip
    mass_t, sd_t = each_place(sampled, 2, numbers)
    return SampledMass(muck_mass_t=mass_t, muck_mass_sd_t=sd_t)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MassSum(Record):
    """Mass of several pushes and its standard deviation."""

    mass_sum_t: FloatArray
    mass_sum_sd_t: FloatArray
    relative_sd: FloatArray


@method(
    "muck.mass.sum_uncertainty",
    formulas={
        "mass_sum_t": Formula("m_sum", "n_r * m"),
        "mass_sum_sd_t": Formula("s_sum", "m * sqrt(n_r * s_ring^2 + n_r^2 * s_common^2)"),
        "relative_sd": Formula("q_sum", "s_sum / m_sum"),
    },
    symbols={"common_sd_ratio": "s_common"},
    kind="identity",
    source=ERROR_PROPAGATION,
)
def mass_sum_spread(ring_count: Number, muck_mass_t: Number, ring_sd_ratio: Number, common_sd_ratio: Number) -> MassSum:
    """Return mass and standard deviation of a number of like pushes.

    Parameters
    ----------
    ring_count : number of rings.
    muck_mass_t : of one ring.
    ring_sd_ratio : ring noise, which averages out.
    common_sd_ratio : part common to all rings, which does not.
    """
    total_t = np.multiply(ring_count, muck_mass_t)
    sd_t = muck_mass_t * np.sqrt(ring_count * np.square(ring_sd_ratio) + np.square(ring_count) * np.square(common_sd_ratio))
    with np.errstate(divide="ignore", invalid="ignore"):
        return MassSum(mass_sum_t=total_t, mass_sum_sd_t=sd_t, relative_sd=np.divide(sd_t, total_t))
