"""How quick a car is likely to be: lanes as straights and curves, motor, grip, and a quasi-steady lap.

Pure Python, in floats and SI units (m, s, kg, N, W, rad/s): a predicted lap informs and decides nothing. Typed
quantities are turned into these by whoever calls; names carry the unit.
"""
