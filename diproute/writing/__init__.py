"""Doors out: the plan file, the drawings and the map. This room draws records and computes nothing."""
