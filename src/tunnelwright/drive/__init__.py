"""drive."""
