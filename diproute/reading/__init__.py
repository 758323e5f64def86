"""Doors in: incident, fleet and weather files, elevation, water, obstacles and areas to avoid."""
