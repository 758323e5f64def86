"""A whisker: how far one number may stray, on a scale that all of its column share."""

from __future__ import annotations

from diproute.writing.drawings.svg import line, picture

WIDTH, HEIGHT = 72.0, 10.0


def whisker(low: float | None, value: float | None, high: float | None, scale: tuple[float, float], label: str) -> str:
    """Draw the range of a number.

    Parameters
    ----------
    low, high
        Ends of the range; None: not known.
    value
        The number itself, a tick; None: none.
    scale
        What the two ends of the scale stand for.
    label
        What the picture says, for those who do not see it.

    Returns
    -------
    str
        SVG; a bare scale where the range is not known.
    """

    def at(number: float) -> float:
        return 3.0 + (number - scale[0]) / (scale[1] - scale[0]) * (WIDTH - 6.0)

    middle = HEIGHT / 2
    parts = [line(2, middle, WIDTH - 2, middle, stroke="rule", stroke_width=0.8)]
    if low is not None and high is not None:
        parts.append(line(at(low), middle, at(high), middle, stroke="shore", stroke_width=3))
    if value is not None:
        parts.append(line(at(value), 1, at(value), HEIGHT - 1, stroke="ink", stroke_width=1.6))
    return picture(WIDTH, HEIGHT, label, parts, kind="whisker")
