"""Blocks."""
