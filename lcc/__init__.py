"""Heat and money of roofs: the calculation core, pure functions over arrays, SI inside."""

__version__ = "0.1.0"
