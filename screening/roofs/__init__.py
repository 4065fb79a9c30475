"""Roofs."""
