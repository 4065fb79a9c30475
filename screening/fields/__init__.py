"""Fields."""
