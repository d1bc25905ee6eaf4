"""Which packaged faces stand on the shelf, what the generic keywords mean, and who lends to whom.

All are under the SIL Open Font License 1.1 and come as dependencies; `docs/decisions/0011-packaged-faces.md`
says why each one is here.
"""

from collections.abc import Mapping
from types import MappingProxyType

TEXT_FAMILY = "Noto Sans"

PACKAGED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "fontpkg_noto_sans": ("files/NotoSans[wdth,wght].ttf", "files/NotoSans-Italic[wdth,wght].ttf"),
        "fontpkg_noto_serif": ("files/NotoSerif[wdth,wght].ttf", "files/NotoSerif-Italic[wdth,wght].ttf"),
        "fontpkg_jetbrains_mono": ("files/JetBrainsMono[wght].ttf", "files/JetBrainsMono-Italic[wght].ttf"),
        "fontpkg_inter": ("files/Inter[opsz,wght].ttf", "files/Inter-Italic[opsz,wght].ttf"),
        "manimgx_fonts": (
            "NotoSansSymbols[wght].ttf",
            "NotoEmoji[wght].ttf",
            "NotoSansArabic[wght].ttf",
            "NotoSansHebrew[wght].ttf",
            "NotoSansArmenian[wght].ttf",
            "NotoSansGeorgian[wght].ttf",
            "NotoSansThai[wght].ttf",
            "NotoSansDevanagari[wght].ttf",
            "NotoSansBengali[wght].ttf",
            "NotoSansTamil[wght].ttf",
        ),
    }
)
"""Package to the face files in it."""

GENERIC: Mapping[str, str] = MappingProxyType(
    {
        "sans-serif": TEXT_FAMILY,
        "system-ui": TEXT_FAMILY,
        "ui-sans-serif": TEXT_FAMILY,
        "ui-rounded": TEXT_FAMILY,
        "cursive": TEXT_FAMILY,
        "fantasy": TEXT_FAMILY,
        "serif": "Noto Serif",
        "ui-serif": "Noto Serif",
        "math": "Noto Serif",
        "monospace": "JetBrains Mono",
        "ui-monospace": "JetBrains Mono",
        "emoji": "Noto Emoji",
    }
)
"""CSS Fonts Level 4, 2.1.3, generic families, to the family that answers."""

FALLBACK: tuple[str, ...] = (
    TEXT_FAMILY,
    "Inter",
    "Noto Sans Arabic",
    "Noto Sans Hebrew",
    "Noto Sans Armenian",
    "Noto Sans Georgian",
    "Noto Sans Thai",
    "Noto Sans Devanagari",
    "Noto Sans Bengali",
    "Noto Sans Tamil",
    "JetBrains Mono",
    "Noto Sans Symbols",
    "Noto Emoji",
)
"""Who lends what an asked face lacks, in order. The wall's own faces come next, then those of the system."""

SYSTEM_FALLBACK: tuple[str, ...] = (
    "DejaVu Sans",
    "Noto Sans CJK JP",
    "Noto Sans JP",
    "Noto Sans CJK SC",
    "Unifont",
)

SYSTEM_FILES: tuple[str, ...] = (
    "DejaVuSans.ttf",
    "DejaVuSans-Bold.ttf",
    "DejaVuSans-Oblique.ttf",
    "DejaVuSans-BoldOblique.ttf",
    "DejaVuSansMono.ttf",
    "DejaVuSansMono-Bold.ttf",
    "DejaVuSerif.ttf",
    "DejaVuSerif-Bold.ttf",
    "NotoSansCJK-Regular.ttc",
    "NotoSansCJK-Bold.ttc",
    "NotoSansJP-Regular.otf",
    "unifont.otf",
)
"""Files looked for in the system's font folders: a short list, so that a wall looks the same on every machine."""
