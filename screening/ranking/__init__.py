"""Ranking."""
