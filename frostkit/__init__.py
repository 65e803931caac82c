"""frostkit: when to seed, how late the legume can go in, and when to chop, as odds counted over a station's real seasons."""

from importlib.metadata import PackageNotFoundError, version

try:
    __version__ = version("frostkit")
except PackageNotFoundError:  # run from a folder that was never installed
    __version__ = "0 (not installed)"
