"""Soils."""
