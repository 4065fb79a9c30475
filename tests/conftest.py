"""Nothing is timed in a test: a slow or busy machine fails none."""

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
