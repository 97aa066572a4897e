"""Does a build fit together, under its body, in its chassis and on the track; with cures and amounts.

Pure Python. Every size is an exact fraction in millimeters (angles in degrees, masses in grams) with a tolerance both
ways. Where a root or a sine is needed the result is rounded to the safe side, to a hundredth at least, so that
everything stays exact after it. Values wanted by default are common practice without a source, and all can be set.
"""
