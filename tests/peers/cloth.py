"""Bolt plans of random houses, ours beside a general solver (OR-tools CP-SAT): length used, bound, time, ratios; mixes
of pieces that may be turned, the same way; and joined cuts, sewn up again in exact fractions.

Not a timed test: run it by hand. It needs the program built for release, and OR-tools from PyPI:
    cargo build --release
    python3 -m venv target/venv && target/venv/bin/pip install ortools
    target/venv/bin/python tests/peers/cloth.py [--houses 3] [--mixes 16] [--joins 400] [--limit 20] [--program target/release/hangtrue]
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
    if text.startswith("-"):
        return -inches(text[1:])
    if text.endswith(" mm"):
        return Fraction(text[:-3]) * 10 / 254
    return sum(Fraction(part) for part in text.split())


def written(length):
    """Whole inches and sixty-fourths, as a person writes them."""
    whole, part = divmod(Fraction(length), 1)
    return f"{whole} {part}" if whole and part else str(whole or part)


def ask_program(program, lines):
    """The answers to some lines, and the seconds that the whole program took, its start included."""
    begun = time.perf_counter()
    done = subprocess.run([program, "cloth"], input="\n".join(lines) + "\n", text=True, capture_output=True, check=True)
    return [json.loads(line) for line in done.stdout.splitlines()], time.perf_counter() - begun


def joined_lines(count):
    """Cuts wider than their cloth: with and without selvage, given or not, plain and printed, each with its numbers."""
    rng = random.Random(20261127)
    for number in range(count):
        usable = Fraction(rng.randrange(30 * 8, 60 * 8), 8)
        left, right = (Fraction(rng.choice([0, 0, 4, 6, 8, 12, 3]), 16) for _ in range(2))
        given = rng.random() < 0.5
        if not given:
            right = left
        cloth = {"width": written(usable + left + right), "usable": written(usable)}
        if given:
            cloth |= {"selvage_left": written(left), "selvage_right": written(right)}
        printed = rng.random() < 0.5
        across = None
        if printed:
            cloth["repeat"] = written(Fraction(rng.randrange(40, 300), 8))
            if rng.random() < 0.6:
                across = Fraction(rng.randrange(16, 27 * 8), 8)
                cloth["repeat_across"] = written(across)
        seam = Fraction(rng.choice([4, 6, 8, 10]), 16)
        least = Fraction(3)
        width = usable + Fraction(rng.randrange(1, 120 * 16), 16)
        line = {"id": number, "unit": "in", "cloth": cloth, "settings": {"seam_allowance": written(seam), "least_join": written(least)},
                "pieces": [{"width": written(width), "length": written(Fraction(rng.randrange(30 * 8, 90 * 8), 8)), "matched": printed}]}
        yield line, (width, usable, left, right, across, seam, least)


def sew_up(answer, numbers):
    """Raises when the pieces of a joined cut, less what its seams take, are not its width, or an edge lies where a seam cannot be."""
    width, usable, left, right, across, seam, least = numbers
    pieces = {piece["part"]: piece for piece in answer["pieces"]}
    seams = {one["part"]: one for one in answer["seams"]}
    assert len(seams) + 1 == len(pieces) >= 3, answer
    seconds = {one["to"] for one in answer["seams"]}
    at, sewn, before = next(part for part in pieces if part not in seconds), Fraction(0), Fraction(0)
    while True:
        piece, one = pieces[at], seams.get(at)
        takes = inches(one["takes"]) if one else Fraction(0)
        assert not one or (takes == seam and (one["edge"], one["to_edge"]) == ("right", "left")), one
        x, cut = inches(piece["x"]), inches(piece["across"])
        assert cut >= least, piece
        assert x >= -(left if left >= seam else 0) and x + cut <= usable + (right if right >= seam else 0), piece
        assert x + before >= 0 and x + cut - takes <= usable, piece
        assert inches(piece["shows"]) == cut - before - takes, piece
        sewn += cut - before - takes
        if not one:
            break
        assert inches(one["at"]) == sewn and 2 * sewn != width, one
        if across:
            other = pieces[one["to"]]
            assert (x + cut - takes - inches(other["x"]) - takes) % across == 0, one
        at, before = one["to"], takes
    assert sewn == width, f"sewn up {sewn}, wanted {width}: {answer}"


def joins(program, count):
    asked = list(joined_lines(count))
    answers, took = ask_program(program, [json.dumps(line) for line, _ in asked])
    sewn = refused = 0
    for answer, (line, numbers) in zip(answers, asked, strict=True):
        if "error" in answer:
            assert "narrow" in answer["error"]["what"], (line, answer)
            refused += 1
        else:
            sew_up(answer, numbers)
            sewn += 1
    assert sewn > count * 9 // 10, (sewn, refused)
    print(f"{sewn} joined cuts sewn up in fractions: every one is its width exactly; {refused} refused; {took:.1f} s in all")


def turnable_mixes(count):
    """Plain cloth without direction: linings, covers and facings that may lie either way."""
    rng = random.Random(20261128)
    for number in range(count):
        pieces = []
        for _ in range(rng.choice([5, 6, 7, 8, 9, 10])):
            kind = rng.random()
            if kind < 0.6:
                pieces.append((Fraction(rng.randrange(20 * 4, 50 * 4), 4), Fraction(rng.randrange(30 * 4, 70 * 4), 4)))
            elif kind < 0.8:
                pieces.append((Fraction(rng.randrange(20 * 4, 50 * 4), 4), Fraction(rng.choice([5, 7]))))
            else:
                pieces.append((Fraction(rng.randrange(12 * 4, 30 * 4), 4), Fraction(rng.randrange(12 * 4, 50 * 4), 4)))
        yield f"turnable {number + 1}, {len(pieces)} pieces", 54, pieces


def solve_turnable(width, pieces, limit):
    """CP-SAT: each piece one of two ways, two-dimensional no-overlap with a cumulative redundancy."""
    model = cp_model.CpModel()
    longest = int(sum(max(w, h) for w, h in pieces) * GRAIN)
    end = model.new_int_var(0, longest, "end")
    xs, ys, heights, wides = [], [], [], []
    for i, (w, h) in enumerate(pieces):
        w, h = int(w * GRAIN), int(h * GRAIN)
        turned = model.new_bool_var(f"t{i}") if h <= width * GRAIN and w != h else 0
        wide, high = w + (h - w) * turned, h + (w - h) * turned
        x, y = model.new_int_var(0, width * GRAIN, f"x{i}"), model.new_int_var(0, longest, f"y{i}")
        right, top = model.new_int_var(0, width * GRAIN, f"r{i}"), model.new_int_var(0, longest, f"o{i}")
        xs.append(model.new_interval_var(x, wide, right, f"ix{i}"))
        ys.append(model.new_interval_var(y, high, top, f"iy{i}"))
        wides.append(wide)
        heights.append(high)
        model.add(end >= top)
    model.add_no_overlap_2d(xs, ys)
    model.add_cumulative(ys, wides, width * GRAIN)
    model.add(end * width * GRAIN >= int(sum(w * h for w, h in pieces) * GRAIN * GRAIN))
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = limit
    solver.parameters.num_workers = 2
    begun = time.perf_counter()
    status = solver.solve(model)
    took = time.perf_counter() - begun
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return (Fraction(int(solver.objective_value), GRAIN) if found else None), Fraction(int(solver.best_objective_bound), GRAIN), status == cp_model.OPTIMAL, took


def mixes(program, count, limit):
    proofs = theirs_proven = 0
    for name, width, pieces in turnable_mixes(count):
        line = {"id": name, "unit": "in", "cloth": {"width": str(width), "direction": "any_way"},
                "pieces": [{"name": f"s{i}", "width": written(w), "length": written(h), "matched": False} for i, (w, h) in enumerate(pieces)]}
        [answer], ours = ask_program(program, [json.dumps(line)])
        boxes = []
        used, bound = inches(answer["used"]), inches(answer["bound"])
        for piece in answer["pieces"]:
            w, h = pieces[int(piece["name"][1:])]
            x, y, across, along = (inches(piece[field]) for field in ("x", "y", "across", "along"))
            assert (across, along) == ((h, w) if piece["turned"] else (w, h)), piece
            assert 0 <= x and x + across <= width and 0 <= y and y + along <= used, piece
            for ox, oy, ow, oh in boxes:
                assert x + across <= ox or ox + ow <= x or y + along <= oy or oy + oh <= y, piece
            boxes.append((x, y, across, along))
        assert len(boxes) == len(pieces)
        theirs, their_bound, proven, took = solve_turnable(width, pieces, limit)
        assert theirs is None or bound <= theirs, f"{name}: bound {bound} above their plan {theirs}"
        assert used >= their_bound, f"{name}: {used} below their bound {their_bound}"
        assert theirs is None or used <= theirs * Fraction(101, 100), f"{name}: {used} is more than 1 % longer than {theirs}"
        proofs += answer["proven"]
        theirs_proven += proven
        print(f"{name:28} {float(used):9.3f} {float(bound):9.3f} {answer['proven']!s:>6} {ours:8.3f} | {float(theirs or 0):9.3f} {float(their_bound):9.3f} {proven!s:>6} {took:8.3f}", flush=True)
    print(f"{count} turnable mixes: ours proven in {proofs}, CP-SAT in {theirs_proven} within {limit:g} s; no plan of ours more than 1 % longer")


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
    ask.add_argument("--mixes", type=int, default=16)
    ask.add_argument("--joins", type=int, default=400)
    ask.add_argument("--limit", type=float, default=20)
    ask.add_argument("--program", default="target/release/hangtrue")
    said = ask.parse_args()
    joins(said.program, said.joins)
    mixes(said.program, said.mixes, said.limit)
    if not said.houses:
        return
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
