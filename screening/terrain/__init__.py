"""Terrain."""
