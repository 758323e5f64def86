"""Drawings: pure functions from records to SVG text, readable on white, on black and on paper."""
