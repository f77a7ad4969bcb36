"""Documentation of tunnelwright; built with warnings as errors, loads nothing from outside."""

project = "tunnelwright"
author = "the tunnelwright authors"
copyright = "2026, the tunnelwright authors"
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build"]
html_theme = "furo"
html_title = "tunnelwright"
myst_enable_extensions = ["deflist"]
suppress_warnings = ["myst.xref_missing"]
