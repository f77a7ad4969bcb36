"""exchange."""
