"""Positions as people write them: decimal degrees, degrees and minutes, DMS and MGRS, in and out (WGS 84)."""

from __future__ import annotations

import math
import re
import warnings
from typing import Final, Literal, NoReturn, TypeAlias

from diproute.errors import QuantityError
from diproute.physics.geodesy import LATITUDE, LONGITUDE

EXAMPLE: Final = '"42 10.500 N 160 03.250 W", "+42.1750 -160.0542" or an MGRS reference'

Token: TypeAlias = tuple[Literal["number", "hemisphere", "sign", "mark", "break"], str]

# the many signs people's keyboards make, and the one we read
_LOOKALIKES: Final = {
    "°": "º˚ᵒ∘⁰",
    "'": "′’‘`´ʹʼ＇",
    '"': "″“”ʺ〃＂",
    "-": "−–—‐‑﹣－",
    " ": "\u00a0\u2007\u2009\u202f\t\r\n:",
}
_PLAIN: Final = str.maketrans({odd: plain for plain, odds in _LOOKALIKES.items() for odd in odds})
_WORDS: Final[dict[str, Token]] = {
    **{word: ("hemisphere", word[0]) for word in ("N", "S", "E", "W", "NORTH", "SOUTH", "EAST", "WEST")},
    **dict.fromkeys(("D", "DEG", "DEGREES"), ("mark", "°")),
    **dict.fromkeys(("MIN", "MINUTES"), ("mark", "'")),
    **dict.fromkeys(("SEC", "SECONDS"), ("mark", '"')),
}
_LABELS: Final = re.compile(r"\b(?:lat(?:itude)?|lon(?:g(?:itude)?)?|lng)\b\s*[:=]?\.?", re.IGNORECASE)
_TOKEN: Final = re.compile(r"\s*(?:(\d+\.?\d*|\.\d+)|([A-Za-z]+)|([°'\"])|([+-])|([,;/|]))\s*")
_MGRS: Final = re.compile(r"(\d{1,2})\s*([C-HJ-NP-X])\s*([A-HJ-NP-Z]{2})\s*(\d*)\s*(\d*)", re.IGNORECASE)
_PACKED: Final = re.compile(r"(\d{2,3})(\d{2})(\d{2})?(\.\d*)?")
_LEAST_MGRS_DIGITS: Final = 3  # a 100 m square


def parse_position(text: object, where: str) -> tuple[float, float]:
    """Read a position.

    Parameters
    ----------
    text
        Latitude, then longitude, each with a hemisphere letter (before or after) or a sign: decimal degrees, degrees
        and minutes, or degrees, minutes and seconds, with or without their marks, or packed as in flight plans
        (``"4210.5N 16003.25W"``). Or an MGRS reference to 100 m or finer: the middle of its square (a metre's: its
        corner).
    where
        The key it came from, for the message.

    Returns
    -------
    lat_deg, lon_deg : float
        WGS 84 [deg], south and west negative.

    Raises
    ------
    QuantityError
        No position, a missing or doubled hemisphere, latitude and longitude swapped or out of range, minutes or
        seconds of 60 and more, a decimal comma, an MGRS square coarser than 100 m or one that does not exist.
    """
    if not isinstance(text, str) or not text.strip():
        _refuse(text, where, f"wanted a position as text; write it like {EXAMPLE}")
    clean = text.translate(_PLAIN).replace("''", '"').strip()
    mgrs = _MGRS.fullmatch(clean)
    if mgrs is not None:
        return _from_mgrs(mgrs, text, where)
    first, second = _halves(_tokens(clean, text, where), text, where)
    (axis_1, lat), (axis_2, lon) = _angle(first, text, where), _angle(second, text, where)
    if axis_1 is not None and axis_1 == axis_2:
        _refuse(text, where, f"wanted a latitude (N, S) and a longitude (E, W); write it like {EXAMPLE}")
    if axis_1 == "lon" or axis_2 == "lat":
        _refuse(text, where, "latitude and longitude are swapped; give the latitude (N, S) first")
    if abs(lat) > LATITUDE.high:
        hint = "; are latitude and longitude swapped?" if abs(lat) <= LONGITUDE.high else ""
        _refuse(text, where, f"latitude {lat:g} is outside −90 to 90{hint}")
    if abs(lon) > LONGITUDE.high:
        _refuse(text, where, f"longitude {lon:g} is outside −180 to 180")
    return lat + 0.0, lon + 0.0  # no negative zero


def _refuse(text: object, where: str, because: str) -> NoReturn:
    raise QuantityError(f"{where}: got {text!r}: {because}", where=where, got=text)


def _tokens(clean: str, text: object, where: str) -> list[Token]:
    """Cut the text into numbers, hemispheres, signs, marks and breaks."""
    clean = _LABELS.sub(" ", clean)
    tokens: list[Token] = []
    at = 0
    while at < len(clean):
        match = _TOKEN.match(clean, at)
        if match is None:
            _refuse(text, where, f"cannot read {clean[at:]!r}; write it like {EXAMPLE}")
        number, word, mark, sign, gap = match.groups()
        if word is not None and word.upper() not in _WORDS:
            _refuse(text, where, f"cannot read {word!r}; write it like {EXAMPLE}")
        if number is not None:
            tokens.append(("number", number))
        elif word is not None:
            tokens.append(_WORDS[word.upper()])
        else:
            tokens.append(("mark", mark) if mark else ("sign", sign) if sign else ("break", gap))
        at = match.end()
    while tokens and tokens[-1] == ("break", "/"):  # ISO 6709 ends in a solidus
        tokens.pop()
    lettered = any(kind == "hemisphere" for kind, _ in tokens)
    return [
        token
        for i, token in enumerate(tokens)
        # with letters, a dash between two numbers only parts degrees from minutes: "42-10.5N"
        if not (lettered and token == ("sign", "-") and i > 0 and tokens[i - 1][0] in ("number", "mark"))
    ]


def _halves(tokens: list[Token], text: object, where: str) -> tuple[list[Token], list[Token]]:
    """Part the tokens of the latitude from those of the longitude."""
    breaks = [i for i, (kind, _) in enumerate(tokens) if kind == "break"]
    named = [i for i, (kind, _) in enumerate(tokens) if kind in ("hemisphere", "sign")]
    if len(breaks) > 1:
        _refuse(text, where, f"more than one comma; write a decimal point, like {EXAMPLE}")
    if len(named) != 2:
        each = "one hemisphere letter (N, S, E, W) or one sign on each of latitude and longitude"
        _refuse(text, where, f"wanted {each}, found {len(named)}; write it like {EXAMPLE}")
    if breaks:
        return tokens[: breaks[0]], tokens[breaks[0] + 1 :]
    cut = named[1] if named[0] == 0 else named[0] + 1
    return tokens[:cut], tokens[cut:]


def _angle(tokens: list[Token], text: object, where: str) -> tuple[str | None, float]:
    """Read one of the two: which axis its letter names (None: a sign), and its degrees."""
    named = [i for i, (kind, _) in enumerate(tokens) if kind in ("hemisphere", "sign")]
    if len(named) != 1 or (named[0] != 0 and (named[0] != len(tokens) - 1 or tokens[named[0]][0] == "sign")):
        _refuse(text, where, f"wanted one hemisphere letter or sign beside each number; write it like {EXAMPLE}")
    name = tokens[named[0]][1]
    body = [token for i, token in enumerate(tokens) if i != named[0]]
    numbers = [value for kind, value in body if kind == "number"]
    marks = "".join(value for kind, value in body if kind == "mark")
    places = [sum(kind == "number" for kind, _ in body[: i + 1]) for i, (kind, _) in enumerate(body) if kind == "mark"]
    if not 1 <= len(numbers) <= 3 or any("°'\""[n - 1 : n] != mark for n, mark in zip(places, marks, strict=True)):
        _refuse(text, where, f"wanted degrees, minutes and seconds in that order; write it like {EXAMPLE}")
    packed = _PACKED.fullmatch(numbers[0])
    if len(numbers) == 1 and not marks and packed is not None and name in "NSEW":
        numbers = _unpack(packed, name)
    if any("." in value for value in numbers[:-1]):
        _refuse(
            text, where, f"only the last of degrees, minutes and seconds may have decimals; write it like {EXAMPLE}"
        )
    parts = [float(value) for value in numbers]
    if any(part >= 60 for part in parts[1:]):
        _refuse(text, where, "minutes and seconds must be below 60")
    degrees = sum(part / 60**i for i, part in enumerate(parts))
    axis = "lat" if name in "NS" else "lon" if name in "EW" else None
    return axis, -degrees if name in "SW-" else degrees


def _unpack(packed: re.Match[str], name: str) -> list[str]:
    """Part the figures of ``4210.5`` or ``1600315``: two figures of degrees for a latitude, three for a longitude."""
    whole, decimals = packed[0].partition(".")[0], packed[4] or ""
    width = 2 if name in "NS" else 3
    rest = whole[width:]
    if len(rest) not in (2, 4):
        return [packed[0]]
    pieces = [whole[:width], *(rest[i : i + 2] for i in range(0, len(rest), 2))]
    return [*pieces[:-1], pieces[-1] + decimals]


def _from_mgrs(match: re.Match[str], text: str, where: str) -> tuple[float, float]:
    from mgrs import MGRS
    from mgrs.core import MGRSError

    zone, band, square, figures = match[1], match[2].upper(), match[3].upper(), match[4] + match[5]
    half, odd = divmod(len(figures), 2)
    if odd or (match[5] and len(match[4]) != len(match[5])) or half > 5:
        _refuse(text, where, "an MGRS reference has as many figures east as north, at most five each")
    if half < _LEAST_MGRS_DIGITS:
        _refuse(
            text, where, "an MGRS square coarser than 100 m is no dip or drop place; give three to five figures each"
        )
    east, north = ((part + "5").ljust(5, "0")[:5] for part in (figures[:half], figures[half:]))
    reference = f"{int(zone):02d}{band}{square}"
    converter = MGRS()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the library only warns of a band that does not fit; we look for ourselves
            lat, lon = converter.toLatLon(f"{reference}{east}{north}")
    except MGRSError:
        _refuse(text, where, f"there is no MGRS square {reference}; check zone, band and letters")
    # the corner of a square on the edge of its zone or band may lie with the neighbour: look 100 m round it
    up, right = 0.001, 0.001 / math.cos(math.radians(lat))
    round_it = ((lat + i, (lon + j + 180) % 360 - 180) for i in (-up, 0, up) for j in (-right, 0, right))
    if reference[:3] not in {converter.toMGRS(*place)[:3] for place in round_it}:
        _refuse(text, where, f"there is no MGRS square {reference}; check zone, band and letters")
    return float(lat), (float(lon) + 180) % 360 - 180


def format_ddm(lat_deg: float, lon_deg: float, decimals: int = 3) -> str:
    """Print a position in degrees and decimal minutes, as aviation speaks it.

    Parameters
    ----------
    lat_deg, lon_deg
        WGS 84 [deg]; NaN prints as ``"not known"``.
    decimals
        Of the minutes.

    Returns
    -------
    str
        ``"N 64° 50.431' W 147° 36.262'"``. 59.9996' prints as the next degree and 00.000', never as 60.000'.

    Raises
    ------
    RangeError
        A latitude outside ±90 (swapped?) or a longitude outside ±180.
    """
    if _unknown(lat_deg, lon_deg):
        return "not known"

    return f"{_sexagesimal(lat_deg, 'NS', 2, 1, decimals)} {_sexagesimal(lon_deg, 'EW', 3, 1, decimals)}"


def format_dms(lat_deg: float, lon_deg: float, decimals: int = 1) -> str:
    """Print a position in degrees, minutes and seconds.

    Parameters
    ----------
    lat_deg, lon_deg
        WGS 84 [deg]; NaN prints as ``"not known"``.
    decimals
        Of the seconds.

    Returns
    -------
    str
        ``N 64° 50' 25.9" W 147° 36' 15.7"``, rolled over like `format_ddm`.

    Raises
    ------
    RangeError
        A latitude outside ±90 (swapped?) or a longitude outside ±180.
    """
    if _unknown(lat_deg, lon_deg):
        return "not known"

    return f"{_sexagesimal(lat_deg, 'NS', 2, 2, decimals)} {_sexagesimal(lon_deg, 'EW', 3, 2, decimals)}"


def _sexagesimal(value: float, letters: str, width: int, places: int, decimals: int) -> str:
    """Print degrees and minutes (one place) or minutes and seconds (two), counted in the last decimal to roll over."""
    scale = 10**decimals
    rest, last = divmod(round(abs(value) * 60**places * scale), 60 * scale)
    text = f"{last / scale:0{decimals + 3 if decimals else 2}.{decimals}f}"
    if places == 1:
        return f"{letters[value < 0]} {rest:0{width}d}° {text}'"
    return f"{letters[value < 0]} {rest // 60:0{width}d}° {rest % 60:02d}' {text}\""


def format_mgrs(lat_deg: float, lon_deg: float) -> str:
    """Print a position as an MGRS reference to a metre.

    Parameters
    ----------
    lat_deg, lon_deg
        WGS 84 [deg]; NaN prints as ``"not known"``.

    Returns
    -------
    str
        ``"06WVS7133090817"``; truncated, never rounded (NGA.STND.0037).

    Raises
    ------
    RangeError
        A latitude outside ±90 (swapped?) or a longitude outside ±180.
    """
    if _unknown(lat_deg, lon_deg):
        return "not known"
    from mgrs import MGRS

    if -1e-7 < lat_deg < 0:  # a centimetre south of the equator the library names a square that does not exist
        lat_deg = 0.0
    return str(MGRS().toMGRS(lat_deg, lon_deg))


def _unknown(lat_deg: float, lon_deg: float) -> bool:
    return bool(math.isnan(LATITUDE.check(lat_deg)) or math.isnan(LONGITUDE.check(lon_deg)))
