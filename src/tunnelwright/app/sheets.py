"""Calculation sheets for pages and the command line."""

from tunnelwright.vocabulary.sheet import sheet_of

__all__ = ["sheet_of"]
