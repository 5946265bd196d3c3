"""Bolt plans of random houses, ours beside a general solver (OR-tools CP-SAT): length used, bound, time, ratios.

Not a timed test: run it by hand. It needs the program built for release, and OR-tools from PyPI:
    cargo build --release
    python3 -m venv target/venv && target/venv/bin/pip install ortools
    target/venv/bin/python tests/peers/cloth.py [--houses 3] [--limit 20] [--program target/release/hangtrue]
The solver is given the same pieces on a grid of 1/8 in, where every size of these houses is whole, with the same free
start in the pattern. Each plan of ours is checked here too: no overlap, every phase right.
Its time limit is per plan; a ratio with a solver that ran out of time is a lower limit.
"""

import argparse
import json
import random
import statistics
import subprocess
import sys
import time
from fractions import Fraction

from ortools.sat.python import cp_model

GRAIN = 8  # parts of an inch


def houses(count):
    """Random houses in 54 in cloth: twelve or twenty-four shades, matched at the foot, the head, both, or plain."""
    rng = random.Random(20261125)
    for number in range(count):
        for shades, widths in ((12, [20, 23, 25, 27, 30, 32, 35, 38, 44, 48]), (24, [20, 23, 25, 27, 30, 32, 35, 38, 44, 48]), (12, list(range(30, 51)))):
            kind = "wide" if len(widths) > 10 else "mixed"
            for match in ("foot", "head", "both", "plain"):
                pieces = []
                for k in range(shades):
                    length = rng.choice([36, 42, 48, 54, 60, 66, 72, 48.5, 63.25]) + 5
                    at = {"foot": length - 3, "head": 2, "both": rng.choice([length - 3, 2]), "plain": 0}[match]
                    pieces.append((rng.choice(widths) + 3, length, at))
                yield f"{shades} {kind}, {match}, {number + 1}", 54, None if match == "plain" else 27, pieces


def line_of(name, width, repeat, pieces):
    cloth = {"width": str(width)} | ({"repeat": str(repeat)} if repeat else {})
    asked = [{"name": f"s{i}", "width": str(w), "length": str(h), "match_at": str(at)} for i, (w, h, at) in enumerate(pieces)]
    return json.dumps({"id": name, "unit": "in", "cloth": cloth, "pieces": asked})


def inches(text):
    if text.endswith(" mm"):
        return Fraction(text[:-3]) * 10 / 254
    return sum(Fraction(part) for part in text.split())


def check(answer, width, repeat, pieces):
    """Raises when a plan of ours does not hold."""
    used, boxes, starts = inches(answer["used"]), [], set()
    assert len(answer["pieces"]) == len(pieces)
    for piece in answer["pieces"]:
        w, h, at = pieces[int(piece["name"][1:])]
        x, y = inches(piece["x"]), inches(piece["y"])
        assert (inches(piece["across"]), inches(piece["along"])) == (w, Fraction(h)), piece
        assert 0 <= x and x + w <= width and 0 <= y and y + Fraction(h) <= used, piece
        if repeat:
            starts.add((y + Fraction(at)) % repeat)
        for ox, oy, ow, oh in boxes:
            assert x + w <= ox or ox + ow <= x or y + Fraction(h) <= oy or oy + oh <= y, piece
        boxes.append((x, y, w, Fraction(h)))
    assert len(starts) <= 1, "every match line stands at one place of the pattern"


def solve(width, repeat, pieces, limit):
    """CP-SAT: two-dimensional no-overlap with a cumulative redundancy, starts congruent in the pattern."""
    model = cp_model.CpModel()
    longest = int(sum(h for _, h, _ in pieces) * GRAIN + len(pieces) * (repeat or 0) * GRAIN)
    origin = model.new_int_var(0, repeat * GRAIN - 1, "origin") if repeat else None
    end = model.new_int_var(0, longest, "end")
    xs, ys, widths = [], [], []
    for i, (w, h, at) in enumerate(pieces):
        w, h, at = int(w * GRAIN), int(h * GRAIN), int(at * GRAIN)
        x = model.new_int_var(0, width * GRAIN - w, f"x{i}")
        y = model.new_int_var(0, longest - h, f"y{i}")
        if repeat:
            k = model.new_int_var(0, longest // (repeat * GRAIN) + 2, f"k{i}")
            model.add(y + origin + at == repeat * GRAIN * k)
        xs.append(model.new_fixed_size_interval_var(x, w, f"ix{i}"))
        ys.append(model.new_fixed_size_interval_var(y, h, f"iy{i}"))
        widths.append(w)
        model.add(end >= y + h)
    model.add_no_overlap_2d(xs, ys)
    model.add_cumulative(ys, widths, width * GRAIN)
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit
    solver.parameters.num_workers = 2
    begun = time.perf_counter()
    status = solver.solve(model)
    took = time.perf_counter() - begun
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return (Fraction(int(solver.objective_value), GRAIN) if found else None), Fraction(int(solver.best_objective_bound), GRAIN), status == cp_model.OPTIMAL, took


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("--houses", type=int, default=2)
    ask.add_argument("--limit", type=float, default=20)
    ask.add_argument("--program", default="target/release/hangtrue")
    said = ask.parse_args()
    ratios, longer = [], 0
    print(f"{'plan':28} {'ours':>9} {'bound':>9} {'proven':>6} {'s':>8} | {'CP-SAT':>9} {'bound':>9} {'proven':>6} {'s':>8} | {'times':>7} {'length':>7}")
    for name, width, repeat, pieces in houses(said.houses):
        asked = line_of(name, width, repeat, pieces)
        begun = time.perf_counter()
        done = subprocess.run([said.program, "cloth"], input=asked + "\n", text=True, capture_output=True, check=True)
        ours = time.perf_counter() - begun  # the whole program, its start included
        answer = json.loads(done.stdout)
        if "error" in answer:
            sys.exit(f"{name}: {answer['error']}")
        check(answer, width, repeat, pieces)
        used = inches(answer["used"])
        theirs, bound, proven, took = solve(width, repeat, pieces, said.limit)
        ratio = took / ours
        ratios.append(ratio)
        longer += theirs is not None and used > theirs
        against = f"{float(used / theirs):7.4f}" if theirs else "   none"
        print(f"{name:28} {float(used):9.3f} {float(inches(answer['bound'])):9.3f} {answer['proven']!s:>6} {ours:8.3f} | {float(theirs or 0):9.3f} {float(bound):9.3f} {proven!s:>6} {took:8.3f} | {ratio:6.1f}x {against}", flush=True)
    print(f"{len(ratios)} plans: ours longer in {longer}; CP-SAT took {statistics.median(ratios):.1f} times as long at the median, {min(ratios):.1f} at the least")


if __name__ == "__main__":
    main()
