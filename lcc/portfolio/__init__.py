"""Many roofs and one budget: a frame of buildings in, frames of results out."""
