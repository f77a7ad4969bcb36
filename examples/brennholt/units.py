"""The ground units of Brennholt as laboratory and literature gave them: near the truth, not equal to it."""

HEADER = """\
# Bodies of ground of the East drive, the youngest first. Means of the laboratory's tests; the source says which.
"""

MADE_GROUND = """
[[unit]]
code = "MG"
name = "Made ground: sand, rubble, ash"
order = 1
kind = "made_ground"
basis = "mean"
drainage = "drained"
unit_weight_kn_m3 = { mean = 18.0, cov = 0.07, source = "9 tube samples" }
unit_weight_saturated_kn_m3 = { mean = 19.3, cov = 0.07, source = "9 tube samples" }
friction_angle_deg = { mean = 30, cov = 0.15, source = "estimate" }
cohesion_kpa = { mean = 0, cov = 0 }
earth_pressure_coefficient_at_rest = { mean = 0.5, cov = 0.2, source = "estimate" }
young_modulus_kpa = { mean = 10000, cov = 0.5, source = "cone tests" }
permeability_m_s = { mean = 1e-5, cov = 2.0, source = "3 falling-head tests" }
porosity = 0.42
water_content = { mean = 0.15, cov = 0.25, source = "9 samples" }
bulking_factor = 1.25
trough_width_factor = 0.35
volume_loss = { mean = 0.010, cov = 0.5, source = "estimate" }
advance_rate_mm_min = 45
foam_injection_ratio = 0.30
foam_expansion_ratio = 12
surfactant_concentration = 0.02
is_contaminated = true
"""

RIVER_GRAVEL = """
[[unit]]
code = "RG"
name = "River gravel, sandy, medium dense to dense"
order = 2
kind = "gravel"
basis = "mean"
drainage = "drained"
unit_weight_kn_m3 = { mean = 19.8, cov = 0.05, source = "sand replacement, 6 tests" }
unit_weight_saturated_kn_m3 = { mean = 21.2, cov = 0.04, source = "sand replacement, 6 tests" }
friction_angle_deg = { mean = 37, cov = 0.08, source = "large shear box, 5 tests" }
cohesion_kpa = { mean = 0, cov = 0 }
young_modulus_kpa = { mean = 65000, cov = 0.4, source = "pressuremeter" }
permeability_m_s = { mean = 1.2e-3, cov = 1.5, source = "pumping test" }
grain_size_d10_mm = 0.35
grain_size_d30_mm = 2.2
grain_size_d60_mm = 11
fines_ratio = 0.04
boulder_ratio = 0.01
largest_boulder_m = 0.35
porosity = 0.27
water_content = { mean = 0.13, cov = 0.2, source = "from porosity" }
equivalent_quartz_ratio = 0.62
bulking_factor = 1.22
trough_width_factor = 0.30
volume_loss = { mean = 0.009, cov = 0.5, source = "estimate" }
advance_rate_mm_min = 35
foam_injection_ratio = 0.40
foam_expansion_ratio = 10
surfactant_concentration = 0.03
"""

STIFF_CLAY = """
[[unit]]
code = "SC"
name = "Stiff clay, silty, fissured near its top"
order = 3
kind = "clay"
basis = "mean"
unit_weight_kn_m3 = { mean = 19.9, cov = 0.03, source = "41 samples" }
unit_weight_saturated_kn_m3 = { mean = 20.1, cov = 0.03, source = "41 samples" }
friction_angle_deg = { mean = 24, cov = 0.08, source = "12 triaxial tests, drained" }
cohesion_kpa = { mean = 12, cov = 0.4, source = "12 triaxial tests, drained" }
undrained_strength_reference_kpa = { mean = 85, cov = 0.25, source = "23 triaxial tests, undrained; at the top of the clay" }
undrained_strength_gradient_kpa_m = { mean = 3.5, cov = 0.25, source = "regression" }
overconsolidation_ratio = 4.5
young_modulus_kpa = { mean = 40000, cov = 0.4, source = "triaxial unloading" }
permeability_m_s = { mean = 1e-9, cov = 0.8, source = "6 oedometer tests" }
permeability_ratio = 0.4
fines_ratio = 0.94
porosity = 0.385
water_content = { mean = 0.23, cov = 0.08, source = "41 samples" }
liquid_limit = { mean = 0.53, cov = 0.08, source = "18 samples" }
plastic_limit = { mean = 0.22, cov = 0.08, source = "18 samples" }
grain_density_t_m3 = 2.71
bulking_factor = 1.45
trough_width_factor = 0.48
volume_loss = { mean = 0.007, cov = 0.4, source = "two older drives in the same clay" }
advance_rate_mm_min = 50
foam_injection_ratio = 0.45
foam_expansion_ratio = 8
surfactant_concentration = 0.025
added_water_ratio = 0.04
is_sticky = true
"""

DENSE_SAND = """
[[unit]]
code = "DS"
name = "Dense sand, fine to medium"
order = 4
kind = "sand"
basis = "mean"
drainage = "drained"
unit_weight_kn_m3 = { mean = 19.3, cov = 0.05, source = "4 samples" }
unit_weight_saturated_kn_m3 = { mean = 20.8, cov = 0.04, source = "4 samples" }
friction_angle_deg = { mean = 37, cov = 0.08, source = "cone tests" }
cohesion_kpa = { mean = 0, cov = 0 }
young_modulus_kpa = { mean = 80000, cov = 0.4, source = "cone tests" }
permeability_m_s = { mean = 5e-5, cov = 1.0, source = "grading" }
grain_size_d10_mm = 0.09
grain_size_d30_mm = 0.17
grain_size_d60_mm = 0.28
fines_ratio = 0.07
porosity = 0.35
water_content = { mean = 0.17, cov = 0.15, source = "4 samples" }
equivalent_quartz_ratio = 0.75
bulking_factor = 1.2
trough_width_factor = 0.35
volume_loss = { mean = 0.007, cov = 0.4, source = "estimate" }
advance_rate_mm_min = 40
foam_injection_ratio = 0.35
foam_expansion_ratio = 12
surfactant_concentration = 0.02
"""

SAND_LENS = """
[[unit]]
code = "SL"
name = "Sand lenses in the clay, fine, silty, water-bearing"
order = 5
kind = "sand"
basis = "mean"
drainage = "drained"
in_lenses_only = true
unit_weight_kn_m3 = { mean = 19.0, cov = 0.05, source = "3 samples" }
unit_weight_saturated_kn_m3 = { mean = 20.5, cov = 0.05, source = "3 samples" }
friction_angle_deg = { mean = 35, cov = 0.1, source = "3 samples" }
cohesion_kpa = { mean = 0, cov = 0 }
young_modulus_kpa = { mean = 55000, cov = 0.4, source = "cone tests" }
permeability_m_s = { mean = 5e-5, cov = 1.5, source = "grading" }
grain_size_d10_mm = 0.06
grain_size_d30_mm = 0.12
grain_size_d60_mm = 0.20
fines_ratio = 0.12
porosity = 0.365
water_content = { mean = 0.18, cov = 0.15, source = "3 samples" }
bulking_factor = 1.2
trough_width_factor = 0.35
volume_loss = { mean = 0.008, cov = 0.5, source = "estimate" }
advance_rate_mm_min = 42
foam_injection_ratio = 0.35
foam_expansion_ratio = 12
surfactant_concentration = 0.02
"""


def units_toml() -> str:
    """Return the table of units."""
    return HEADER + MADE_GROUND + RIVER_GRAVEL + STIFF_CLAY + DENSE_SAND + SAND_LENS
