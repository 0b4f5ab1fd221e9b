"""Drawings of the roof and of its framing, as SVG."""
