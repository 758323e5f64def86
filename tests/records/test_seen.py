"""How low and how high water may lie among cells that it fills in part, by hand."""

import numpy as np
import pytest

from diproute.records import Mixed, Seen

BARE, SURFACE = Seen(20.0, False), Seen(20.0, True)


def ends(seen, share, highest_m=106.0):
    """Of cells at 100 m and 102 m, the neighbours between 99 m and the highest."""
    low, high = seen.mixed_level(Mixed(*map(np.asarray, (100.0, 102.0, share, 99.0, highest_m))))
    return float(low), float(high)


@pytest.mark.parametrize(
    ("share", "low_m", "high_m"),
    [  # 0.8 of the share is wet; 6 m and a bank of 1 m rise beside the water, 3 m fall away from it
        (0.5, 100 - 0.6 * 7, 102 + 0.6 * 3),
        (0.0, 100 - 7, 102 + 3),
        (-0.5, 100 - 7, 102 + 3),
        (1.0, 100 - 0.2 * 7, 102 + 0.2 * 3),
        (1.5, 100 - 0.2 * 7, 102 + 0.2 * 3),  # wider than its cell
    ],
)
def test_the_dry_share_of_what_rises_and_falls_beside_it(share, low_m, high_m):
    assert ends(BARE, share) == pytest.approx((low_m, high_m))


def test_ground_rises_by_so_much_of_a_cell_at_most():
    assert ends(BARE, 0.5, 130.0)[0] == pytest.approx(100 - 0.6 * 0.7 * 20)


@pytest.mark.parametrize(
    ("share", "low_m"),
    [  # a tree of 40 m, half of it where the water fills the purest cell; no more than a tree in all
        (0.5, 100 - 0.6 * (7 + 30)),
        (1.0, 100 - 0.2 * (7 + 20)),
        (1.5, 100 - 0.2 * (7 + 20)),
        (0.0, 100 - 40),
        (-0.5, 100 - 40),
    ],
)
def test_in_a_surface_model_trees_may_hide_the_bank(share, low_m):
    assert ends(SURFACE, share) == pytest.approx((low_m, ends(BARE, share)[1]))


def test_in_wide_cells_of_a_surface_model_tree_and_ground_rise():
    assert ends(Seen(100.0, True), 0.0)[0] == pytest.approx(100 - (7 + 40))
    assert ends(Seen(100.0, True), 0.0, 200.0)[0] == pytest.approx(100 - 70)


@pytest.mark.parametrize("surface", [False, True])
def test_two_errors_below_and_one_above(surface):
    low_m, high_m = ends(Seen(20.0, surface), 0.5)
    assert ends(Seen(20.0, surface, 2.5), 0.5) == pytest.approx((low_m - 5.0, high_m + 2.5))


def test_water_alone_from_one_and_three_quarters_of_a_cell():
    assert Seen(20.0, False).pure_m == 35.0


def test_many_places_at_once():
    share = np.array([0.0, 0.5, 1.5])
    many = Mixed(*(np.full(3, height) for height in (100.0, 102.0)), share, np.full(3, 99.0), np.full(3, 106.0))
    for i, pair in enumerate(zip(*SURFACE.mixed_level(many), strict=True)):
        assert pair == pytest.approx(ends(SURFACE, share[i]))
