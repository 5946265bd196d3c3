"""Cut lists of random houses, ours beside a general solver (OR-tools CP-SAT): sticks, cost, time, ratios.

Not a timed test: run it by hand. It needs the program built for release, and OR-tools from PyPI:
    cargo build --release
    python3 -m venv target/venv && target/venv/bin/pip install ortools
    target/venv/bin/python tests/peers/cutting.py [--houses 4] [--limit 30] [--program target/release/hangtrue]
The solver is handed every way to cut a stick to which no piece can be added, worked out here and not counted in its
time, and minimises sticks first, then cost, or for every other plan cost first, then sticks. Our time is that of a whole run of the program. Each plan of ours is
added up here too. Exits with 1 when an optimum differs.
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

GRAIN = 8  # parts of an inch; every size of these houses is whole in it
KERF = 1


def houses(count):
    """Boards, bars and ribs of 8, 16 and 30 shades: lengths and counts, and three stock lengths with their prices."""
    rng = random.Random(20261125)
    for number in range(count):
        for shades in (8, 16, 30):
            widths = [rng.randint(18 * GRAIN, 80 * GRAIN) for _ in range(shades)]
            for name, less, each, stock in (
                ("boards", 1, lambda: 1, ((96, 410), (120, 565), (144, 690))),
                ("bars", 4, lambda: 1, ((84, 530), (96, 610), (144, 905))),
                ("ribs", 6, lambda: rng.randint(4, 8), ((84, 185), (96, 210), (144, 310))),
            ):
                demand = {}
                for width in widths:
                    demand[width - less] = demand.get(width - less, 0) + each()
                yield f"{shades} shades, {name}, {number + 1}", demand, stock


def text(eighths):
    return f"{eighths // GRAIN} {eighths % GRAIN}/8" if eighths % GRAIN else str(eighths // GRAIN)


def length(words):
    return sum((Fraction(part) for part in words.split()), Fraction(0))


def ours(program, demand, stock, cheapest):
    asked = {
        "unit": "in",
        "cheapest_first": cheapest,
        "kerf": "1/8",
        "stock": [{"length": str(inches), "price": f"{cents / 100:.2f}"} for inches, cents in stock],
        "pieces": [{"length": text(size), "count": n} for size, n in demand.items()],
    }
    start = time.perf_counter()
    ran = subprocess.run([program, "cutlist"], input=json.dumps(asked), capture_output=True, text=True, check=True)
    took = time.perf_counter() - start
    answer = json.loads(ran.stdout)
    left = dict(demand)
    for stick in answer["sticks"]:
        cuts = [length(cut["length"]) for cut in stick["cuts"]]
        assert sum(cuts) + length(stick["sawn"]) + length(stick["offcut"]) == length(stick["length"]), stick
        assert length(stick["sawn"]) <= Fraction(KERF, GRAIN) * len(cuts), stick
        for cut in cuts:
            left[int(cut * GRAIN)] -= 1
    assert not any(left.values()), "every piece is cut, and none too often"
    return answer, took


def ways(demand, room):
    """Every way to cut a stick of `room` to which no piece can be added."""
    sizes = sorted(demand, reverse=True)
    found = []

    def go(at, left, taken):
        if at == len(sizes):
            if all(size + KERF > left or taken.get(size, 0) == demand[size] for size in sizes):
                found.append(dict(taken))
            return
        size = sizes[at]
        for n in range(min(demand[size], left // (size + KERF)), -1, -1):
            if n:
                taken[size] = n
            go(at + 1, left - n * (size + KERF), taken)
            taken.pop(size, None)

    go(0, room + KERF, {})
    return found


def solver(demand, stock, limit, cheapest):
    model = cp_model.CpModel()
    columns = [(cents, way) for inches, cents in stock for way in ways(demand, inches * GRAIN)]
    pieces = sum(demand.values())
    times = [model.new_int_var(0, pieces, f"x{n}") for n in range(len(columns))]
    for size, n in demand.items():
        model.add(sum(x * way[size] for x, (_, way) in zip(times, columns) if size in way) >= n)
    if cheapest:  # a cent less is worth any difference in sticks
        dearer = pieces + 1
        model.minimize(sum(x * (dearer * cents + 1) for x, (cents, _) in zip(times, columns)))
    else:  # one stick fewer is worth any difference in cost
        dearer = pieces * max(cents for _, cents in stock)
        model.minimize(sum(x * (dearer + cents) for x, (cents, _) in zip(times, columns)))
    cp = cp_model.CpSolver()
    cp.parameters.max_time_in_seconds = limit
    cp.parameters.num_workers = 2
    start = time.perf_counter()
    status = cp.solve(model)
    took = time.perf_counter() - start
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, None, False, took, len(columns)
    value = round(cp.objective_value)
    first, then = divmod(value, dearer)
    sticks, cents = (then, first) if cheapest else (first, then)
    return sticks, cents, status == cp_model.OPTIMAL, took, len(columns)


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--houses", type=int, default=4)
    arguments.add_argument("--limit", type=float, default=30.0, help="seconds for each of the solver's plans")
    arguments.add_argument("--program", default="target/release/hangtrue")
    arguments = arguments.parse_args()
    ratios, differ, equal = [], 0, 0
    for number, (name, demand, stock) in enumerate(houses(arguments.houses)):
        cheapest = number % 2 == 1
        answer, took = ours(arguments.program, demand, stock, cheapest)
        mine = (answer["bought"], int(answer["cost"].replace(".", "")))
        sticks, cents, proven, their, columns = solver(demand, stock, arguments.limit, cheapest)
        ratio = their / took
        ratios.append(ratio)
        if answer["proven"] and proven:
            equal += mine == (sticks, cents)
            differ += mine != (sticks, cents)
        # Whoever proved an optimum, nobody may be below it.
        rank = (lambda plan: (plan[1], plan[0])) if cheapest else (lambda plan: plan)
        if sticks is not None and ((answer["proven"] and rank((sticks, cents)) < rank(mine)) or (proven and rank(mine) < rank((sticks, cents)))):
            differ += 1
        said = "nothing" if sticks is None else f"{sticks} for {cents}{'' if proven else ' not proven'}"
        print(
            f"{name}, {'cheapest' if cheapest else 'fewest'}: ours {mine[0]} for {mine[1]}{'' if answer['proven'] else ' not proven'} in {took:.3f} s; "
            f"CP-SAT {said} in {their:.3f} s over {columns} ways; ratio {ratio:.1f}",
            flush=True,
        )
    print(f"{len(ratios)} plans, {equal} equal proven optima, {differ} differences; ratio of times: median {statistics.median(ratios):.1f}, least {min(ratios):.1f}")
    return 1 if differ else 0


if __name__ == "__main__":
    sys.exit(main())
