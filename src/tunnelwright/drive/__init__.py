"""Stages that compose kernels: project, axis, sections, plan, reconciliation."""
