"""Published formulas on arrays: atmosphere, wind, geodesy, coordinates, magnetics, hover.

Every function broadcasts like NumPy. Scalars in give a float; NaN (not known) goes in and comes out as NaN; a value
outside the range of a formula raises `diproute.errors.RangeError` and names the usual slip.
"""
