"""Every registered method, for the battery."""

from tunnelwright.engineering import load_methods

load_methods()
