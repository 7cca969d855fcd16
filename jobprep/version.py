"""The version of this package, for run records and the command line."""

__version__ = "0.6.0"
