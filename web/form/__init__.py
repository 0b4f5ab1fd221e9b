"""The form of a case, laid out from the facts of its fields."""
