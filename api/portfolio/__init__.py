"""Portfolios over HTTP and in files: tables of roofs in, results and faults by cell out."""
