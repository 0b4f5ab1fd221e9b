"""What every test file shares."""

from hypothesis import settings

# The same examples in every run, and no deadline: the machine may be shared.
settings.register_profile("house", derandomize=True, deadline=None, database=None)
settings.load_profile("house")
