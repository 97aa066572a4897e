"""Data of the manual's worked examples: AIAG Measurement Systems Analysis, 4th ed. 2010, read second-hand.

They are constants of these tests and no content of the program.
"""

from fractions import Fraction

from inspection.gaugestudy.crossed import CrossedReadings

# Figure III-B 15: rows are inspector A, B, C with three trials each, columns the parts 1 to 10.
_CROSSED = """
0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36
0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25
0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31
0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68
0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62
0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50
0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49
-0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77
-0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16
"""

# Tables III-B 1 and 2: a check piece of 6.00.
BIAS = "5.8 5.7 5.9 5.9 6.0 6.1 6.0 6.1 6.4 6.3 6.0 6.1 6.2 5.6 6.0"

# Tables III-B 4 and 5: the size of the check piece, then twelve readings.
LINEARITY = """
2;2.7 2.5 2.4 2.5 2.7 2.3 2.5 2.5 2.4 2.4 2.6 2.4
4;5.1 3.9 4.2 5.0 3.8 3.9 3.9 3.9 3.9 4.0 4.1 3.8
6;5.8 5.7 5.9 5.9 6.0 6.1 6.0 6.1 6.4 6.3 6.0 6.1
8;7.6 7.7 7.8 7.7 7.8 7.8 7.8 7.7 7.8 7.5 7.6 7.7
10;9.1 9.3 9.5 9.3 9.4 9.5 9.5 9.5 9.6 9.2 9.3 9.4
"""

# Table III-C 3: fifty parts; three trials each of A, B and C, then the truth; 1 accepts.
ATTRIBUTES = """
111 111 111 1,111 111 111 1,000 000 000 0,000 000 000 0,000 000 000 0,110 110 100 1,111 111 101 1,111 111 111 1,
000 000 000 0,111 111 111 1,111 111 111 1,000 000 010 0,111 111 111 1,110 111 100 1,111 111 111 1,111 111 111 1,
111 111 111 1,111 111 111 1,111 111 111 1,111 111 111 1,110 101 010 1,001 010 110 0,111 111 111 1,111 111 111 1,
000 000 000 0,010 000 001 0,111 111 111 1,111 111 111 1,111 111 111 1,000 001 000 0,111 111 111 1,111 111 111 1,
111 111 111 1,001 001 011 0,111 111 111 1,110 111 101 1,000 000 000 0,111 111 111 1,000 000 000 0,111 111 111 1,
111 111 111 1,000 000 000 0,101 111 110 1,111 111 111 1,000 000 000 0,111 111 111 1,111 111 111 1,000 000 000 0,
111 111 111 1,000 000 000 0
"""


def numbers(text: str) -> list[Fraction]:
    return [Fraction(word) for word in text.split()]


def crossed() -> CrossedReadings:
    rows = [numbers(line) for line in _CROSSED.strip().splitlines()]
    return CrossedReadings(
        tuple(tuple(tuple(rows[3 * i + t][p] for t in range(3)) for p in range(10)) for i in range(3))
    )


def linearity_readings() -> list[tuple[Fraction, list[Fraction]]]:
    lines = (line.split(";") for line in LINEARITY.strip().splitlines())
    return [(Fraction(size), numbers(readings)) for size, readings in lines]


def answers() -> dict[str, str]:
    """What A, B and C said of every part and trial, and the truth beside each, as one row of 0 and 1."""
    rows = [each.split() for each in ATTRIBUTES.replace("\n", "").split(",")]
    said = {name: "".join(row[n] for row in rows) for n, name in enumerate("ABC")}
    return said | {"truth": "".join(row[3] * 3 for row in rows)}
