"""compute."""
