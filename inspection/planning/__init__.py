"""The bench in one place: a build as its chassis, parts and mounting; what fits, meshes, is legal and quick.

Pure Python, on top of `fit`, `gearing`, `dynamics` and `conformity`. Lengths are exact fractions in millimeters, masses
in grams; everything comes in as text with a unit or as values of these engines.
"""
