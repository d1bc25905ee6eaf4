"""What is done for a face that is not in the keep yet: it is fitted, or cut down, and written.

Apart from `wallbill.faces.fitting`, so that the libraries that write fonts are loaded only when one is written.
"""

from dataclasses import astuple

from wallbill.faces.building import Parts, Style, build
from wallbill.faces.charsets import Share
from wallbill.faces.drawing import Fit, fit_outlines
from wallbill.faces.keeping import Record
from wallbill.faces.model import FaceAsk, Keep
from wallbill.faces.smooth import smooth_font
from wallbill.faces.stems import Host
from wallbill.faces.strikes import fit_strike


def fitted_record(share: Share, ask: FaceAsk, *, family: str, keep: Keep, host: Host) -> Record:
    """A face fitted to the pixel grid, filed as ``family``, with what was found on the way.

    ``host``: the face that it lends letters to.
    """
    face = share.face
    style = Style(family, ask.size_px, ask.weight, ask.italic)
    fit: Fit = fit_outlines(share, ask, keep, host=host) if face.outlined else fit_strike(share, ask, keep)
    data = build(Parts(style, fit.glyphs, fit.cmap, fit.metrics, fit.tables))
    facts = {
        "covered": sorted(fit.cmap),
        "faults": [
            [character, astuple(fault.found), astuple(fault.designed)]
            for character, fault in sorted(fit.faults.items())
        ],
        "mended": sorted(fit.mended),
        "stem_px": fit.cut.stem_px,
        "host": astuple(fit.host),
        "coordinates": fit.cut.coordinates,
        "hinting": str(fit.hinting),
    }
    return Record(facts, data)


def smooth_record(share: Share, ask: FaceAsk, *, family: str) -> Record:
    """A face as designed, cut down to its characters and filed as ``family``."""
    style = Style(family, ask.size_px, ask.weight, ask.italic)
    data, held = smooth_font(share.face, share.characters, style)
    return Record({"covered": sorted(map(ord, held)), "faults": []}, data)
