"""Works the sums of 1,000 random quotes again in Python's decimal (the General Decimal Arithmetic, ROUND_HALF_UP), and holds
the decimals of every currency against list one of ISO 4217 as the package iso4217 from PyPI carries it. Prices, rates and
minutes are invented by a seed; the houses are those of fixtures/houses."""

import argparse
import json
import pathlib
import random
import re
import subprocess
import sys
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

import iso4217

parser = argparse.ArgumentParser()
parser.add_argument("--program", required=True)
parser.add_argument("--quotes", type=int, default=1000)
parser.add_argument("--seed", type=int, default=1)
args = parser.parse_args()
chance = random.Random(args.seed)
houses = [json.loads(path.read_text()) for path in sorted((pathlib.Path(__file__).resolve().parents[2] / "fixtures/houses").glob("*.json"))]


def whole(exact):
    """To the nearest smallest unit, halves away from zero."""
    return int(Decimal(exact).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def small(house):
    """A house with a few of its openings: a sum is no truer for being long."""
    house = json.loads(json.dumps(house))
    rooms = [room for room in house["rooms"] if room.get("openings")]
    room = chance.choice(rooms)
    room["openings"] = chance.sample(room["openings"], min(len(room["openings"]), 2))
    house["rooms"] = [room]
    return house


def invented():
    house = small(chance.choice(houses))
    settings = house.setdefault("settings", {})
    numbers = {
        "hour_price": (0, 12000), "shade_minutes": (0, 200), "join_minutes": (0, 90), "pattern_percent": (0, 60),
        "markup_percent": (0, 150), "least_charge": (0, 60000), "visit_charge": (0, 9000), "travel_charge": (0, 9000),
        "discount_permille": (0, 300), "deposit_percent": (0, 100), "hang_minutes": (0, 60), "stop_minutes": (0, 60),
    }
    for name, (least, most) in numbers.items():
        settings[name] = chance.randint(least, most)
    for cloth in house.get("cloths", []):
        cloth["price_cents"] = chance.randint(300, 15000)
        cloth["clients_own"] = chance.random() < 0.2
    settings["own_cloth_charge"] = chance.randint(1, 4000)
    inch = house["unit"] in ("in", "ft")
    lengths = ["72 in", "96 in", "144 in"] if inch else ["1800 mm", "2400 mm", "3600 mm"]
    names = [f"{kind}, {length}" for kind in ("board", "bottom bar", "rib") for length in lengths]
    names += ["plain lining", "blackout lining", "interlining", "lift cord", "cord cleat", "lift", "tensioner", "endless loop"]
    names += [f"{what}, {count} in a pack" for what, counts in {"ring": (50, 100), "screw eye": (10, 50), "screw": (25, 100), "anchor": (10, 50), "bracket": (2, 10)}.items() for count in counts]
    prices = {name: chance.randint(0, 5000) for name in names if chance.random() < 0.95}
    taxes = [{"name": f"tax {n}", "rate": chance.randint(0, 25000), "on": chance.choice(["all", "goods", "work"])} for n in range(chance.randint(0, 3))]
    house["trade"] = {"currency": chance.choice(["USD", "EUR", "JPY", "KWD"]), "taxes": taxes, "prices": prices}
    return house


wrong = []
for entry in iso4217.Currency:
    digits = entry.exponent
    if digits is None:
        continue
    # Asked of the program itself, through the decimals of its answer.
    house = json.loads(json.dumps(houses[0]))
    house["rooms"] = []
    house["trade"] = {"currency": entry.code.upper()}
    wrong.append((house, digits))
lines = "".join(json.dumps(house) + "\n" for house, _ in wrong)
answers = subprocess.run([args.program, "price"], input=lines, capture_output=True, text=True, check=True).stdout.splitlines()
failed = 0
for (house, digits), answer in zip(wrong, answers, strict=True):
    said = json.loads(answer)
    if said["decimals"] != digits:
        failed += 1
        print(f"{house['trade']['currency']}: {said['decimals']} decimals, ISO 4217 says {digits}")
print(f"currencies: {len(wrong)} held against ISO 4217")

given = [invented() for _ in range(args.quotes)]
answers = subprocess.run([args.program, "price"], input="".join(json.dumps(house) + "\n" for house in given), capture_output=True, text=True).stdout.splitlines()
checked = 0


def same(what, ours, theirs):
    global failed, checked
    checked += 1
    if ours != theirs:
        failed += 1
        print(f"{what}: {theirs}, worked again {ours}")


for n, (house, answer) in enumerate(zip(given, answers, strict=True)):
    said, settings = json.loads(answer), house["settings"]
    if "error" in said:
        failed += 1
        print(n, said["error"])
        continue
    part = Decimal(10) ** said["decimals"] / 100
    own = {cloth["name"] for cloth in house.get("cloths", []) if cloth.get("clients_own")}
    cloths = {cloth["name"]: cloth["price_cents"] for cloth in house.get("cloths", [])}
    hour, shades, hanging, bought = settings["hour_price"], 0, 0, 0
    count = 0
    for opening in said["openings"]:
        price = opening["price"]
        if price is None:
            continue
        count += price["count"]
        lines = {line["what"]: line for line in price["lines"]}
        material = sum(line["money"] or 0 for line in price["lines"] if line["kind"] in ("bought", "material"))
        for what, line in lines.items():
            sold = re.search(r"sold as (\d+(?: \d+/\d+)?(?:\.\d+)?) (yd|m)$", line["working"])
            if what in cloths and sold and line["kind"] == "bought":
                text = sold[1].split()
                amount = sum(Decimal(int(a)) / Decimal(int(b)) if "/" in word else Decimal(word) for word in text for a, _, b in [word.partition("/")])
                # The shop's own sum is in whole hundredths, up; then the currency's smallest unit.
                cents = (amount * cloths[what]).to_integral_value(rounding=ROUND_CEILING)
                same(f"{n} {what}", whole(cents * part), line["money"])
            if what in cloths and what in own:
                same(f"{n} the client's own {what}", "not charged", "charged")
        sum_of_lines = material
        if settings["markup_percent"]:
            sum_of_lines += whole(Decimal(material) * settings["markup_percent"] / 100)
            same(f"{n} markup", whole(Decimal(material) * settings["markup_percent"] / 100), lines["added to what is bought"]["money"])
        if "handling of the client's own cloth" in lines:
            sum_of_lines += settings["own_cloth_charge"]
        if hour:
            minutes = sum(int(minute) for minute in re.findall(r"(?:: |, )(\d+) for ", lines["making"]["working"]))
            same(f"{n} minutes", minutes, price["minutes"])
            labour = whole(Decimal(hour) * minutes / 60)
            same(f"{n} labour", labour, lines["making"]["money"])
            sum_of_lines += labour
        each = max(sum_of_lines, settings["least_charge"])
        same(f"{n} each", each, price["each"])
        shades += each * price["count"]
        hanging += price["hanging_minutes"] * price["count"]
        bought += price["count"] * sum(line["money"] or 0 for line in price["lines"] if line["kind"] == "bought")
    same(f"{n} shades", shades, said["of_shades"])
    off = whole(Decimal(shades) * settings["discount_permille"] / 1000)
    hung = whole(Decimal(hour) * (hanging + (settings["stop_minutes"] if count else 0)) / 60)
    goods, work = shades - off, hung + settings["visit_charge"] + settings["travel_charge"]
    base = {"all": goods + work, "goods": goods, "work": work}
    taxes = sum(whole(Decimal(base[tax["on"]]) * tax["rate"] / 100000) for tax in house["trade"]["taxes"])
    total = goods + work + taxes
    same(f"{n} total", total, said["total"])
    same(f"{n} deposit", min(max(whole(Decimal(total) * settings["deposit_percent"] / 100), bought), total), said["deposit"])
print(f"quotes: {len(given)}, {checked} sums worked again in decimal")
print(f"{checked + len(wrong) - failed} passed, {failed} failed")
sys.exit(failed > 0)
