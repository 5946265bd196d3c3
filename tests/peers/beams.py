"""Beams by another method in exact arithmetic, for tests/tests/beam_peer.rs to compare with.

Direct stiffness with Python's fractions (no rounding anywhere), where Hangtrue uses the three-moment equation in
floats. One JSON object a line in, one out. Lengths and loads are whole numbers, the stiffness is 1:
{"length": 36, "supports": [3, 33], "points": [[18, 10]], "spreads": [[0, 36, 2]], "ask": [0, 18]}
answers {"reactions": [...], "moments": [...], "deflections": [...]} as floats of the exact values; sagging moments,
reactions upwards and deflections downwards are positive.
"""

import json
import sys
from fractions import Fraction


def solve(matrix, right):
    """Gauss's elimination in fractions; the matrix is regular because the beam stands."""
    n = len(right)
    rows = [row[:] + [value] for row, value in zip(matrix, right)]
    for i in range(n):
        pivot = next(r for r in range(i, n) if rows[r][i] != 0)
        rows[i], rows[pivot] = rows[pivot], rows[i]
        for r in range(i + 1, n):
            if rows[r][i] != 0:
                factor = rows[r][i] / rows[i][i]
                rows[r] = [a - factor * b if b != 0 else a for a, b in zip(rows[r], rows[i])]
    found = [Fraction(0)] * n
    for i in reversed(range(n)):
        rest = sum((rows[i][k] * found[k] for k in range(i + 1, n) if rows[i][k] != 0), Fraction(0))
        found[i] = (rows[i][n] - rest) / rows[i][i]
    return found


def work(asked):
    supports = [Fraction(s) for s in asked["supports"]]
    points = [(Fraction(a), Fraction(p)) for a, p in asked["points"]]
    spreads = [(Fraction(a), Fraction(b), Fraction(w)) for a, b, w in asked["spreads"]]
    ask = [Fraction(x) for x in asked["ask"]]
    nodes = {Fraction(0), Fraction(asked["length"]), *supports, *ask}
    nodes.update(a for a, _ in points)
    for a, b, _ in spreads:
        nodes.update((a, b))
    nodes = sorted(nodes)
    size = 2 * len(nodes)
    stiffness = [[Fraction(0)] * size for _ in range(size)]
    forces = [Fraction(0)] * size
    elements = []
    for i, (left, right) in enumerate(zip(nodes, nodes[1:])):
        l = right - left
        w = sum((w for a, b, w in spreads if a <= left and right <= b), Fraction(0))
        k = [
            [12 / l**3, 6 / l**2, -12 / l**3, 6 / l**2],
            [6 / l**2, 4 / l, -6 / l**2, 2 / l],
            [-12 / l**3, -6 / l**2, 12 / l**3, -6 / l**2],
            [6 / l**2, 2 / l, -6 / l**2, 4 / l],
        ]
        held = [w * l / 2, w * l**2 / 12, w * l / 2, -w * l**2 / 12]
        at = [2 * i, 2 * i + 1, 2 * i + 2, 2 * i + 3]
        for r in range(4):
            forces[at[r]] += held[r]
            for c in range(4):
                stiffness[at[r]][at[c]] += k[r][c]
        elements.append((k, held, at))
    for a, p in points:
        forces[2 * nodes.index(a)] += p
    fixed = {2 * nodes.index(s) for s in supports}
    free = [d for d in range(size) if d not in fixed]
    moved = solve([[stiffness[r][c] for c in free] for r in free], [forces[r] for r in free])
    all_moved = [Fraction(0)] * size
    for d, value in zip(free, moved):
        all_moved[d] = value
    reactions = []
    moments = []
    for s in supports:
        i = nodes.index(s)
        d = 2 * i
        pushed = sum((stiffness[d][c] * all_moved[c] for c in range(size)), Fraction(0))
        reactions.append(forces[d] - pushed)
        # The end moment of the element at one side; clockwise-positive as assembled.
        if i < len(elements):
            k, held, at = elements[i]
            moments.append(sum((k[1][c] * all_moved[at[c]] for c in range(4)), Fraction(0)) - held[1])
        else:
            k, held, at = elements[i - 1]
            moments.append(-(sum((k[3][c] * all_moved[at[c]] for c in range(4)), Fraction(0)) - held[3]))
    deflections = [all_moved[2 * nodes.index(x)] for x in ask]
    return {
        "reactions": [float(r) for r in reactions],
        "moments": [float(m) for m in moments],
        "deflections": [float(d) for d in deflections],
    }


for line in sys.stdin:
    if line.strip():
        print(json.dumps(work(json.loads(line))), flush=True)
