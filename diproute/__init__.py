"""Dip sites, loads, routes and water per hour for helicopter bucket work on wildfires."""

__version__ = "0.1.0"
