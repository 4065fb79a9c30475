"""Water."""
