"""Openings by other means, for tests/tests/truth_peer.rs: scipy's solver for the corners, shapely for what passes,
fractions for the sizes.

One JSON object a line in: {"asked": a line of the truth calculator, "answered": its answer, "true": the corners the
readings were made from, or null}. One out: {"id":..., "corners": the largest distance between both solutions'
corners over the size of the opening, "wrong": a sentence, or null}.

The weights are worked out here from the published tape tolerance (Directive 2014/32/EU, Annex X, MI-008) and the
stated spreads of hand and grain, not taken from the answer.
"""

import json
import math
import sys
from fractions import Fraction

import numpy as np
from scipy.optimize import least_squares
from shapely.affinity import translate
from shapely.geometry import Polygon, box

INCH = Fraction(254, 10)


def length(text):
    """Millimetres, exactly, of '35 7/8', '7/8', '35.25' in inches or '873.1 mm'."""
    if text.endswith("mm"):
        return Fraction(text[:-2].strip())
    return sum((Fraction(part) for part in text.split()), Fraction(0)) * INCH


def spread(millimetres, grain):
    metres = math.ceil(millimetres / 1000)
    tolerance = 0.3 + 0.2 * metres + 0.2  # class II, from the hook
    return math.sqrt(tolerance**2 / 3 + 0.3**2 + float(grain) ** 2 / 12)


def points(x):
    """Bottom left, bottom right, top right, top left, with the sill falling as the head rises."""
    b, s, p, q, r, _ = x
    return np.array([[0, 0], [b, -s], [r, q + s], [p, q]])


def predicted(place, x):
    b, s, p, q, r, bow = x
    if place == "width_top":
        return math.hypot(r - p, s)
    if place == "width_bottom":
        return math.hypot(b, s)
    if place == "width_middle":
        # The middles of the jambs: (p, q) / 2 and ((b, -s) + (r, q + s)) / 2.
        return math.hypot((b + r - p) / 2, 0) + bow
    if place == "height_left":
        return math.hypot(p, q)
    if place == "height_right":
        return math.hypot(r - b, q + 2 * s)
    if place == "diagonal_rising":
        return math.hypot(r, q + s)
    if place == "diagonal_falling":
        return math.hypot(b - p, s + q)
    raise ValueError(place)


def solve(readings, grain):
    sights = [(place, float(v), spread(float(v), grain)) for place, values in readings.items() for v in values]
    of = {place: value for place, value, _ in sights}
    w, h = of["width_bottom"], of["height_left"]
    misfit = lambda x: [(predicted(place, x) - value) / sd for place, value, sd in sights]
    jacobian = lambda x: derivatives(sights, x)
    found = least_squares(misfit, [w, 0, 0, h, w, 0], jac=jacobian, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    # Two more of Gauss's and Newton's steps: the solver stops when the square stands still, before the corners do.
    x = found.x
    for _ in range(2):
        x = x + np.linalg.lstsq(jacobian(x), -np.array(misfit(x)), rcond=None)[0]
    return points(x)


def derivatives(sights, x):
    """Central differences of high order, near enough exact for these smooth distances."""
    rows = []
    for place, _, sd in sights:
        row = []
        for k in range(6):
            step = 1e-2
            at = lambda n: predicted(place, [v + (n * step if j == k else 0) for j, v in enumerate(x)])
            row.append((8 * (at(1) - at(-1)) - (at(2) - at(-2))) / (12 * step) / sd)
        rows.append(row)
    return np.array(rows)


def floor_to(value, grain):
    return (value // grain) * grain


def check_sizes(asked, answered, readings):
    """The exact rules of the inside mount, in fractions."""
    inside = answered["inside"]
    grain = INCH / 16
    width = min(min(v) for place, v in readings.items() if place.startswith("width"))
    height = min(min(v) for place, v in readings.items() if place.startswith("height"))
    passage = length(inside["clear_passage"])
    by_width, by_passage = width - INCH * 3 / 8, passage - INCH / 8
    if length(inside["finished_width"]) != floor_to(min(by_width, by_passage), grain):
        return "the finished width is not that of the rule"
    rule = "clear passage" if by_passage < by_width else "smallest width"
    if inside["width_rule"] != rule:
        return f"the rule should be {rule}"
    if length(inside["finished_length"]) != floor_to(height - INCH / 4, grain):
        return "the finished length is not that of the rule"
    return None


def passes(corners, width):
    """True when an upright rectangle of this width and full height passes between the jambs, pushed to the left one."""
    foot_l, foot_r, head_r, head_l = corners
    shade = box(0, max(foot_l[1], foot_r[1]), width, min(head_l[1], head_r[1]))
    shade = translate(shade, xoff=max(foot_l[0], head_l[0]))
    return Polygon(corners).buffer(1e-4).contains(shade)


def main():
    for line in sys.stdin:
        case = json.loads(line)
        asked, answered = case["asked"], case["answered"]
        readings = {
            place: [length(v) for v in values] for place, values in asked["readings"].items() if place != "depth"
        }
        grain = length(asked["instrument"]["grain"])
        theirs = solve(readings, grain)
        names = ["bottom_left", "bottom_right", "top_right", "top_left"]
        ours = np.array([answered["corners"][name] for name in names]) * 25.4
        size = np.abs(theirs).max()
        out = {"id": asked["id"], "corners": float(np.abs(ours - theirs).max() / size), "wrong": None}
        out["wrong"] = check_sizes(asked, answered, readings)
        if case["true"] is not None and out["wrong"] is None:
            width = float(length(answered["inside"]["finished_width"]))
            if not passes([[25.4 * v for v in c] for c in case["true"]], width):
                out["wrong"] = "the shade does not pass the opening the readings were made from"
        print(json.dumps(out))


main()
