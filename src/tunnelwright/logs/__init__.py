"""logs."""
