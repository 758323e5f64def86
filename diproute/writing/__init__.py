"""Doors out: the drawings and the map. This room sees the plan as a document, and computes nothing."""
