"""Season."""
