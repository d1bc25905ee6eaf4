"""Ready-made parts for sheets: weather icons, charts, maps and codes, each giving HTML or SVG on the pixel grid."""
