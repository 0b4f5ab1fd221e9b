"""The proposal: what is printed, by which template, and how it is asked for."""
