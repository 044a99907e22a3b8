"""Settings shared by every test: the same cases each time, no failing on a slow machine."""

from examples import load_profile

load_profile()
