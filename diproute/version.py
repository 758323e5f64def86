"""The version, alone, so that no room has to import the package itself."""

__version__ = "0.1.0"
