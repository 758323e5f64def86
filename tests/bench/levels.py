"""How well the interval of a water level holds: `python tests/bench/levels.py [ponds]`, by hand.

For each setting: the share of ponds whose true level lies within, above and below it, and how wide it is.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from pond_scene import SETTINGS, pond

from diproute.reading.water_level import with_levels


def main() -> None:
    """Print one line a setting."""
    ponds = int(sys.argv[1]) if len(sys.argv) > 1 else 150
    print(f"{'setting':28s} within  below  above  worst below/above m  width m: median, 90 %  wide  stands above")
    for setting in SETTINGS:
        below, above, width, codes = [], [], [], []
        for seed in range(ponds):
            water, ground, level = pond(setting, seed)
            (found,) = with_levels([water], ground)
            below.append(found.level_low_m - level)
            above.append(level - found.level_high_m)
            width.append(found.level_high_m - found.level_low_m)
            codes += [caution.code for caution in found.cautions]
        low, high = np.array(below), np.array(above)
        slack = 0.05
        print(
            f"{setting.name:28s} {np.mean((low <= slack) & (high <= slack)):6.1%} {np.mean(low > slack):6.1%} "
            f"{np.mean(high > slack):6.1%}  {low.max():6.1f} {high.max():6.1f}        "
            f"{np.median(width):6.1f} {np.quantile(width, 0.9):6.1f}   {codes.count('level-wide') / ponds:6.1%} "
            f"{codes.count('above-its-shore') / ponds:6.1%} {codes.count('level-unknown') / ponds:6.1%}"
        )


if __name__ == "__main__":
    main()
