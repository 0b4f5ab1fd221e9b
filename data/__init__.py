"""Tables of the trade, each row with its source and basis; read through ``lcc.tables``."""
