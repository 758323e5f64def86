"""From a template and its data to a PDF: the same bytes for the same input, tagged (PDF/UA-1)."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from diproute.errors import OutputError, plain
from diproute.writing.drawings.palette import ROLES

FONT: Final = "Source Sans Pro"
LONGEST_NAME: Final = 60
MISSING: Final = "a PDF needs typst, pypdf and a font, which are not installed: pip install 'diproute[brief]'"
_PAINT: Final = re.compile(r"var\(--([a-z]+), #[0-9A-Fa-f]{6}\)")


def can_typeset() -> bool:
    """Tell whether what PDFs need is installed."""
    from importlib.util import find_spec

    return all(find_spec(name) is not None for name in ("typst", "pypdf", "font_source_sans_pro"))


def typeset(template: str, data: dict[str, Any]) -> bytes:
    """Make a PDF.

    Parameters
    ----------
    template
        Name of a ``.typ`` file of this package, with its folder: ``"brief/brief.typ"``. It finds the data as ``d``.
    data
        What it reads: texts, numbers, lists; pictures as SVG text. Texts are never read as markup.

    Returns
    -------
    bytes
        The PDF. Where a name has letters that the font lacks, it is set with the system's fonts too, and a letter that
        no font has is a box; then the file is not tagged.

    Raises
    ------
    OutputError
        What PDFs need is not installed.
    """
    try:
        import font_source_sans_pro
        import typst
    except ImportError as error:
        raise OutputError(MISSING, where="brief") from error

    room = files("diproute.writing")
    source = b"".join(room.joinpath(name).read_bytes() for name in ("parts.typ", template))
    own = [str(Path(font_source_sans_pro.__file__).parent / "files")]
    told = json.dumps(_shown(data), allow_nan=False)
    # names may have letters that the font lacks: the system's fonts are asked, and at the last a box stands for one
    for system in (False, True):
        fonts = typst.Fonts(include_system_fonts=system, font_paths=own)
        try:
            return typst.compile(
                source, font_paths=fonts, sys_inputs={"data": told}, pdf_standards=["ua-1"], timestamp=0
            )
        except typst.TypstError as error:
            if "could not be displayed" not in str(error):
                raise
    return typst.compile(source, font_paths=fonts, sys_inputs={"data": told}, timestamp=0)


def called(name: str) -> str:
    """Give a name no longer than a line of paper holds."""
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


def on_paper(drawing: str) -> str:
    """Give a drawing the colours of paper and the brief's font."""
    painted = _PAINT.sub(lambda found: ROLES[found[1]].paper, drawing)
    return painted.replace("system-ui, sans-serif", FONT)


def _shown(value: Any) -> Any:
    """Show control characters as they are written in code, those in the words of drawings too."""
    if isinstance(value, dict):
        return {key: _shown(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_shown(inner) for inner in value]
    return plain(value) if isinstance(value, str) else value
