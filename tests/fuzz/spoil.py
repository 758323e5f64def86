"""Ways to spoil a file at random: its bytes, its words and numbers, its JSON."""

import json
import random
import re
from typing import Any

NASTY = (
    "", "0", "-1", "1e308", "-1e308", "nan", "inf", "1e-320", "99999999999999999999", "true", "null", "\x00",
    "\x1b[31m",
    "\u202e", "\ud83d", "é", "A" * 5000, "../../x", "~nobody-here/x", "/dev/zero", "http://127.0.0.1:9/x",
    "/vsicurl/http://127.0.0.1:9/x", "[/]", "{{1}}", "%s%n", "\n\n", "'", '"', "\\", "--", "0 kg", "-5 m", "1e9 km",
    "1 ft/min", "400 deg", "9999 degC", "0001-01-01T00:00+00:00", "9999-12-31T23:59+14:00", "2026-02-30T00:00Z",
)  # fmt: skip
NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
WORD = re.compile(rb"[A-Za-z_]{2,}")
QUOTED = re.compile(rb'"[^"\n]*"')


def nasty(draw: random.Random) -> bytes:
    return draw.choice(NASTY).encode("utf-8", "surrogatepass")


def spoil_bytes(data: bytes, draw: random.Random) -> bytes:
    """Flip, cut, double, swap or fill some bytes; heads are spoilt more often, for they say the most."""
    out = bytearray(data)
    for _ in range(draw.choice((1, 1, 1, 2, 4, 16))):
        if not out:
            break
        at = draw.randrange(min(len(out), draw.choice((64, 512, 4096, len(out)))))
        length = draw.choice((1, 2, 4, 8, 64))
        match draw.randrange(8):
            case 0 | 1:
                out[at] ^= 1 << draw.randrange(8)
            case 2:
                out[at : at + length] = draw.randbytes(length)
            case 3:
                out[at : at + length] = bytes([draw.choice((0, 255, 127, 128))]) * min(length, len(out) - at)
            case 4:
                del out[at : at + length]
            case 5:
                out[at:at] = out[at : at + length] * draw.choice((1, 2, 50))
            case 6:
                out[at : at + 4] = draw.choice((0, 1, 2**31 - 1, 2**32 - 1, 2**16)).to_bytes(
                    4, draw.choice(("big", "little"))
                )
            case _:
                del out[draw.randrange(len(out)) :]
    return bytes(out)


def spoil_text(data: bytes, draw: random.Random) -> bytes:
    """Put something nasty for a number, a word, a quoted text or a line; now and then spoil its bytes."""
    pattern = draw.choice((NUMBER, NUMBER, WORD, QUOTED, None, "bytes"))
    if pattern == "bytes":
        return spoil_bytes(data, draw)
    if pattern is None:
        lines = data.split(b"\n")
        at = draw.randrange(len(lines))
        match draw.randrange(4):
            case 0:
                del lines[at]
            case 1:
                lines.insert(at, lines[draw.randrange(len(lines))])
            case 2:
                lines[at] = nasty(draw)
            case _:
                lines[at] += nasty(draw)
        return b"\n".join(lines)
    found = list(pattern.finditer(data))
    if not found:
        return spoil_bytes(data, draw)
    match = draw.choice(found)
    new = nasty(draw)
    if pattern is QUOTED:
        new = b'"' + new.replace(b'"', b"") + b'"' if draw.random() < 0.7 else new
    elif pattern is NUMBER and draw.random() < 0.5:
        new = str(draw.choice((0, -1, 1e9, 1e-9, 181, 91, 400, 2**31, draw.uniform(-1e3, 1e3)))).encode()
    return data[: match.start()] + new + data[match.end() :]


def spoil_json(data: bytes, draw: random.Random) -> bytes:
    """Change, remove, double or nest one value somewhere in a JSON text."""
    if draw.random() < 0.3:
        return spoil_text(data, draw)
    try:
        whole = json.loads(data)
    except ValueError:  # spoilt before
        return spoil_bytes(data, draw)
    if not isinstance(whole, dict | list):
        return spoil_bytes(data, draw)
    holder: Any = whole
    while True:
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        if not keys:
            return spoil_bytes(data, draw)
        key = draw.choice(keys)
        if not isinstance(holder[key], dict | list) or not holder[key] or draw.random() < 0.2:
            break
        holder = holder[key]
    strange = (
        None,
        True,
        0,
        -1,
        1e308,
        float("nan"),
        float("inf"),
        "",
        [],
        {},
        [[]],
        draw.choice(NASTY),
        2**70,
        "x" * 9999,
    )
    match draw.randrange(4):
        case 0:
            del holder[key]
        case 1 if isinstance(holder, list):
            holder[key:key] = [holder[key]] * draw.choice((1, 3, 300))
        case 2 if isinstance(holder, dict):
            holder[draw.choice(NASTY)] = holder.pop(key)
        case _:
            holder[key] = draw.choice(strange)
    return json.dumps(whole, ensure_ascii=draw.random() < 0.5).encode("utf-8", "surrogatepass")
