"""Drawings: pure functions from the plan to SVG text, readable on white, on black and on paper."""
