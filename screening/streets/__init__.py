"""Streets."""
