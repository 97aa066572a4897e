"""How far a gauge can be trusted as a club uses it: crossed studies, bias, linearity and attribute studies.

Pure Python. Readings come in as exact fractions in one unit; variances leave as exact fractions in that unit squared.
Probabilities and square roots are floats: they inform, and what feeds a decision is taken from the exact variance.
"""
