"""Every code that refuses a site or leaves a water out has its short word for the map."""

import re

import pytest

from diproute.wording import CODES
from diproute.wording.of_layers import LEFT_OUT
from diproute.wording.short import SHORT, UNHEARD, short

MOST_LETTERS = 26

# codes that never refuse a site nor leave a water out: cautions, notes, reasons inside other findings.
# A new code stands here or in the table of short words.
NEVER = set(
    re.findall(
        r"[\w-]+",
        """
    lies-at features-dropped layer-empty-here partly-covered place-unknown grid-coarsened elevation-coarse
    elevation-unit-assumed vertical-datum-unknown heights-above-ellipsoid bare-earth-unknown trees-unknown
    tree-height-unknown canopy-beside-surface no-obstacle-layer obstacles-left-out obstacle-underground
    obstacle-in-tunnel obstacle-gone obstacle-height-assumed assumed-height obstacle-kind-unknown obstacle-unverified
    obstacle-place-unknown obstacle-file-old obstacle-file-undated wire-direction-unknown wire-support-unknown
    water-unsure water-cut water-slopes level-wide one-layer-only depths-differ above-its-shore
    level-unknown water-as-points area-said area-closed area-costs area-mapped
    warmest-of-the-forecast report-of-another-time wind-variable hours-without-temperature hours-left-out hour
    hours-missing thing directions-unknown one-way surface-unknown surface-penetrated area area-crossed orbits
    fails-open fails-height fails-closed fails-roof fails-room fails-circle tailwind-loaded steep-tailwind yaw-sector
    drop-climb-out drop-people descent-capped fast-descent empty-bucket-unstated part-first-load sheet-climb
    sheet-no-climb legs-close wind-outside-table wire-height-assumed wire-oblique leg-wind cycles-only
    chart-air-unknown chart-too-hot chart-too-cold chart-too-high chart-too-low chart-empty-cell place sheet-named
    sheet-first-lift sheet-fuel-asked sheet-fuel-incident sheet-fuel-full sheet-operating sheet-hoge sheet-reduction
    sheet-in-hand sheet-adjusted sheet-jettisonable sheet-selected sheet-payload sheet-no-lift sheet-belly-hook
    sheet-long-line sheet-allowed sheet-share sheet-too-heavy sheet-under-limit lifted too-heavy line-asks line-short
    line-recommended line-less score-distance score-altitude score-obstacles score-approach depth-unknown salt-water
    density-altitude-high no-power-in-hand compass not-assessed no-base dark sun-in-the-eyes first-from none-from
    first-changes site-closed no-longer-works opens fill-falls fill-rises rates-change wind-of-the-hour uncertainty
    fleet fleet-part duty place-far ground-too-steep obstacles-two-datums obstacles-off-ground obstacle-off-ground
    station-off-ground station-not-compared wind-of-groups
    keys-set key-set first-stays first-instead first-at-all none-any-more rate-moves site-opens site-closes
    nothing-moves places-impossible canopy-no-trees elevation-holes
    """,
    )
)


def test_every_code_has_a_short_word_or_needs_none():
    assert set(CODES) - set(SHORT) - NEVER == set()
    assert set(SHORT) <= set(CODES)
    assert not NEVER & set(SHORT)


def test_every_water_that_is_left_out_has_its_word():
    assert set(LEFT_OUT) <= set(SHORT)


@pytest.mark.parametrize("code", SHORT)
def test_a_word_is_short_and_no_code(code):
    word = short(code)
    assert 0 < len(word) <= MOST_LETTERS
    assert "-" not in word
    assert word == word.strip()


def test_a_code_of_a_later_release_never_serves_as_a_word():
    assert short("some-later-code") == UNHEARD
