"""Compiled loops of the water room."""
