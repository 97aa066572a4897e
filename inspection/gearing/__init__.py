"""Gears: ratio, rollout, module and pitch, and whether a pair runs on the shafts of a chassis.

Pure Python. Lengths come in as exact fractions in millimeters; `spur.millimeters` makes one of a typed quantity.
What needs no angle is exact; involutes, backlash and contact ratios are floats: they inform and decide no clause.
"""
