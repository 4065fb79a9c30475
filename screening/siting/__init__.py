"""Siting."""
