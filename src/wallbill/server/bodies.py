"""Impressions in the forms that devices ask for."""

import io

import numpy as np
from PIL import Image

from wallbill.errors import Place, StoreError
from wallbill.inks.encoding import encode_bmp, encode_pbm, encode_plates
from wallbill.inks.impression import Impression, frozen_codes
from wallbill.panels.model import Panel
from wallbill.server.heads import digest_field
from wallbill.server.model import Body, Form
from wallbill.store.model import Impressed

_MEND = "Press the display again; if it comes back, check the disk that holds the store."


def body_of(impressed: Impressed, form: Form, panel: Panel) -> Body:
    """An impression that is kept, in one form, as a device gets it.

    PNG as it is kept; others from its ink values. ``panel``: whose inks, in order, are the PNG's palette. Raises
    `StoreError` where the PNG does not hold what its digest says.
    """
    if form is Form.PNG:
        return png_body(impressed)
    impression = _impression(impressed, panel)
    if form is Form.BMP:
        return _body(encode_bmp(impression, pitch_mm=panel.pitch_mm), "image/bmp")
    if form is Form.PBM:
        return _body(encode_pbm(impression), "image/x-portable-bitmap")
    data = encode_plates(impression)
    inks = tuple(ink.name for ink in impression.inks)
    return Body(
        data,
        "application/octet-stream",
        digest_field(data),
        impression.width_px,
        impression.height_px,
        inks,
    )


def png_body(impressed: Impressed) -> Body:
    """An impression as the PNG that is kept."""
    return _body(impressed.png, "image/png")


def _body(data: bytes, media_type: str) -> Body:
    return Body(data, media_type, digest_field(data))


def _impression(impressed: Impressed, panel: Panel) -> Impression:
    """The ink values in a PNG. They are its palette's indices, so nothing is looked for by colour."""
    where = Place(field=f"impression {impressed.digest[:12]}")
    try:
        with Image.open(io.BytesIO(impressed.png), formats=("PNG",)) as picture:
            if picture.mode != "P" or picture.size != (impressed.width_px, impressed.height_px):
                raise StoreError(
                    "the picture that is kept has another size or no palette", where=where, mend=_MEND
                )
            codes = np.asarray(picture, dtype=np.uint8)
    except (OSError, SyntaxError, ValueError) as error:
        raise StoreError(
            f"the picture that is kept cannot be read: {error}", where=where, mend=_MEND
        ) from error
    if codes.max(initial=0) >= len(panel.inks):
        raise StoreError(
            f"the picture that is kept has inks that {panel.name} lacks", where=where, mend=_MEND
        )
    impression = Impression(frozen_codes(codes), panel.inks)
    if impression.digest != impressed.digest:
        raise StoreError("the picture that is kept is not the one that was pressed", where=where, mend=_MEND)
    return impression
