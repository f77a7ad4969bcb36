"""engineering."""
