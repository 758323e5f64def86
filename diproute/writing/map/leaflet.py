"""Leaflet, as a package on the Python index ships it, checked before it is used."""

from __future__ import annotations

import hashlib
import re
from importlib.resources import files
from typing import Final

from diproute.errors import OutputError

PACKAGE: Final = "django-js-lib-leaflet"
# Leaflet 1.9.4; the same digests stand as subresource integrity on the project's own download page
DIGESTS: Final = {
    "leaflet.js": "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
    "leaflet.css": "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
}


def script() -> str:
    """Leaflet's script, without the mark that points to its source map."""
    return re.sub(r"\n?//# sourceMappingURL=\S*\s*\Z", "\n", _checked("leaflet.js"))


def style() -> str:
    """Leaflet's style sheet, without its comments and the rules that name image files."""
    bare = re.sub(r"/\*.*?\*/", "", _checked("leaflet.css"), flags=re.DOTALL)
    return re.sub(r"[\w-]+:\s*url\([^)]*\);", "", bare)


def _checked(name: str) -> str:
    try:
        data = files("js_lib_leaflet").joinpath("static", "js_lib_leaflet", name).read_bytes()
    except (ModuleNotFoundError, FileNotFoundError) as error:
        raise OutputError(f"{name} is missing; install {PACKAGE} 1.9.4", where=name) from error
    digest = hashlib.sha256(data).hexdigest()
    if digest != DIGESTS[name]:
        raise OutputError(
            f"{name} has SHA-256 {digest[:12]}…, wanted {DIGESTS[name][:12]}…; install {PACKAGE} 1.9.4 again",
            where=name,
            got=digest,
        )
    return data.decode("utf-8")
