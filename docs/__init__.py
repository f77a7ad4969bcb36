"""Documentation."""
