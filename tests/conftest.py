"""Random tests draw the same examples everywhere: a failure seen once is seen by everybody."""

from hypothesis import settings

settings.register_profile("same everywhere", derandomize=True, deadline=None, print_blob=True)
settings.load_profile("same everywhere")
