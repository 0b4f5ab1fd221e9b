"""The JSON service over the core."""
