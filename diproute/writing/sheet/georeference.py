"""A page's place on the ground, written into the PDF (ISO 32000-2, 12.9 and 12.10) for a GIS or a GPS."""

from __future__ import annotations

import io
from typing import Any, Final

from diproute.errors import OutputError
from diproute.writing.sheet.frame import SheetFrame
from diproute.writing.typeset import MISSING

_POINT_MM: Final = 25.4 / 72.0
_UNIT_SQUARE: Final = (0, 0, 0, 1, 1, 1, 1, 0)  # south-west, north-west, north-east, south-east


def georeferenced(pdf: bytes, frame: SheetFrame, left_mm: float, top_mm: float, run: str | None) -> bytes:
    """Say where the frame on the first page lies on the ground.

    Parameters
    ----------
    pdf
        The page as set.
    frame
        The frame drawn on it.
    left_mm, top_mm
        Place of its upper left corner on the page, from the page's.
    run
        The plan's run, from which the file's id is made.

    Returns
    -------
    bytes
        The PDF, the same for the same input.
    """
    try:
        from pypdf import PdfWriter
        from pypdf.generic import (
            ArrayObject,
            ByteStringObject,
            DictionaryObject,
            FloatObject,
            NameObject,
            NumberObject,
            TextStringObject,
        )
    except ImportError as error:
        raise OutputError(MISSING, where="brief") from error

    def numbers(values: Any) -> Any:
        return ArrayObject([FloatObject(value) for value in values])

    def named(**entries: Any) -> Any:
        return DictionaryObject({NameObject(f"/{key}"): value for key, value in entries.items()})

    writer = PdfWriter(clone_from=io.BytesIO(pdf))
    writer.pdf_header = "%PDF-2.0"  # whose measures of places these are
    page = writer.pages[0]
    height = float(page.mediabox.height)
    left, top = left_mm / _POINT_MM, height - top_mm / _POINT_MM
    box = (left, top - frame.height_mm / _POINT_MM, left + frame.width_mm / _POINT_MM, top)
    places = [value for corner in frame.corners() for value in (corner[0], (corner[1] + 180.0) % 360.0 - 180.0)]
    square = ArrayObject([NumberObject(value) for value in _UNIT_SQUARE])
    measure = named(
        Type=NameObject("/Measure"), Subtype=NameObject("/GEO"), Bounds=square, LPTS=square, GPTS=numbers(places),
        GCS=named(Type=NameObject("/PROJCS"), EPSG=NumberObject(frame.epsg)),
        PDU=ArrayObject([NameObject("/M"), NameObject("/SQM"), NameObject("/DEG")]),
    )  # fmt: skip
    viewport = named(
        Type=NameObject("/Viewport"), Name=TextStringObject("Map"), BBox=numbers(box),
        Measure=writer._add_object(measure),
    )  # fmt: skip
    page[NameObject("/VP")] = ArrayObject([viewport])
    mark = (run or "").encode().ljust(16, b"0")[:16]
    writer._ID = ArrayObject([ByteStringObject(mark), ByteStringObject(mark)])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
