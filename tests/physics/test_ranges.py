import subprocess
import sys

import numpy as np
import pytest

from diproute.errors import RangeError
from diproute.physics.ranges import Range, plain

PRESSURE = Range("pressure_pa", 1000, 2000, "Pa", ((10, 20, "that looks like hPa"),))


def test_scalars_become_floats_and_arrays_stay_arrays():
    assert type(plain(np.float64(3))) is float
    assert type(plain(np.array(3))) is float
    assert plain([1, 2]).dtype == np.float64


def test_nan_passes_and_the_ends_belong_to_the_range():
    np.testing.assert_array_equal(PRESSURE.check([1000, np.nan, 2000]), [1000, np.nan, 2000])


def test_a_refusal_names_value_range_and_slip():
    with pytest.raises(RangeError, match=r"pressure_pa: got 15, wanted 1000 to 2000 Pa; that looks like hPa") as caught:
        PRESSURE.check([[1500.0, 15.0]])
    assert caught.value.where == "pressure_pa"
    assert caught.value.got == 15


@pytest.mark.parametrize("value", [10.0, 20.0])
def test_the_ends_of_a_slip_belong_to_it(value):
    with pytest.raises(RangeError, match=r"that looks like hPa"):
        PRESSURE.check(value)


@pytest.mark.parametrize("value", [999.9, 2000.1, np.inf, -np.inf])
def test_outside_is_refused_without_a_slip_when_none_fits(value):
    with pytest.raises(RangeError, match=r"wanted 1000 to 2000 Pa$"):
        PRESSURE.check(value)


@pytest.mark.parametrize("module", ["atmosphere", "wind", "hover", "geodesy", "coordinates", "magnetics"])
def test_import_brings_no_heavy_library(module):
    code = (
        f"import sys, diproute.physics.{module};"
        "print([m for m in ('pyproj', 'pygeomag', 'mgrs', 'scipy', 'numba', 'rasterio') if m in sys.modules])"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert answer.stdout.strip() == "[]"
