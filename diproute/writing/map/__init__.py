"""The map: one HTML file that holds everything it shows and asks the network for nothing."""

from diproute.writing.map.draw import draw_map

__all__ = ["draw_map"]
