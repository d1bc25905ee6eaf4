"""From a raster to inks: colour science, separation, tints, dithering, plates, encoders and proofs.

Gives `Impression`: one ink for every pixel, with a digest that is the same for the same dots everywhere.
"""
