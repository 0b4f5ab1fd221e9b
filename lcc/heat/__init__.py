"""Heat through roofs, hour by hour over a periodic year, as arrays."""
