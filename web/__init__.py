"""The page, the proposal and the command line over the service."""
