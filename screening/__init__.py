"""Neighbourhood screening for rain gardens."""

__version__ = "0.1.0"
