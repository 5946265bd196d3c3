"""How fast every page is over a book of 5,000 houses: median and 99th percentile, sizes, requests of the first page.

    target/venv/bin/python tests/browser/load.py --program target/release/hangtrue [--houses 5000] [--times 60]

To hold (DEVELOPERS.md): the median of every page under 100 ms on two cores; the first page under 50 kB compressed, in one
round of requests. A measure, not a test: it prints and fails only when an answer is wrong.
"""

import argparse
import http.client
import json
import re
import time

from desk import Program
from journeys import HERON


def a_book(desk, houses):
    """Heron Lane so many times over, each with ids of its own, in files of a hundred."""
    text = HERON.read_text(encoding="utf-8")
    ids = sorted(set(re.findall(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}", text)))
    for begin in range(0, houses, 100):
        paths = []
        for n in range(begin, min(begin + 100, houses)):
            one = text
            for at, old in enumerate(ids):
                one = one.replace(old, f"{old[:8]}-{old[9:13]}-7{at:03x}-8{n >> 12:03x}-{n & 0xfff:03x}{old[-9:]}")
            one = one.replace('"Heron Lane, number nine"', f'"Heron Lane, number {n}"', 1)
            path = desk.folder / f"{n}.json"
            path.write_text(one, encoding="utf-8")
            paths.append(path)
        desk.run("take", "--book", desk.book, *paths)
        for path in paths:
            path.unlink()


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--program", default="target/release/hangtrue")
    words.add_argument("--houses", type=int, default=5000)
    words.add_argument("--times", type=int, default=60)
    asked = words.parse_args()
    with Program(asked.program) as desk:
        began = time.monotonic()
        a_book(desk, asked.houses)
        size = desk.book.stat().st_size / 1e6
        print(f"{asked.houses} houses of 13 openings taken in, in {time.monotonic() - began:.0f} s; the book has {size:.0f} MB")
        line = http.client.HTTPConnection("127.0.0.1", desk.port, timeout=120)
        inside = {"Host": desk.host, "Cookie": desk.key()}

        def get(path):
            line.request("GET", path, headers={**inside, "Accept-Encoding": "gzip"})
            answer = line.getresponse()
            body = answer.read()
            assert answer.status == 200, f"{path}: {answer.status}"
            return body

        def plain(path):
            line.request("GET", path, headers=inside)
            return line.getresponse().read()

        line.request("GET", "/", headers=inside)
        first = line.getresponse().read().decode()
        house = re.search(r'href="(/house/[0-9a-f-]+)"', first).group(1)
        line.request("GET", house, headers=inside)
        opening = re.search(rf'href="({house}/opening/[0-9a-f-]+)"', line.getresponse().read().decode()).group(1)
        sheets = ("summary", "buying", "cutting", "making", "hanging", "full-size", "kit", "labels", "care", "measuring", "working")
        pages = ["/", "/?find=number+4321", "/?from=4800", "/find?q=number+4321", "/find?q=study+east", "/find?q=window", "/find?q=nowhere", house, opening, house + "/walk", house + "/leaving", house + "/settings"]
        pages += [f"{house}/sheets/{name}" for name in sheets]
        # The search is gathered beside the serving: not before it answers is it measured.
        began = time.monotonic()
        while b"being gathered" in plain("/find?q=study"):
            time.sleep(0.5)
        print(f"the search is ready {time.monotonic() - began:.1f} s after the first page")
        print(f"{'page':32} {'median':>9} {'p99':>9} {'kB gzip':>8}")
        for path in pages:
            took = []
            for _ in range(asked.times):
                began = time.perf_counter()
                body = get(path)
                took.append((time.perf_counter() - began) * 1000)
            took.sort()
            name = path.replace(opening, "an opening").replace(house, "a house")
            print(f"{name:32} {took[len(took) // 2]:6.1f} ms {took[min(len(took) - 1, int(len(took) * 0.99))]:6.1f} ms {len(body) / 1000:8.1f}", flush=True)
        linked = re.findall(r'(?:href|src)="(/[a-z.]+\.(?:css|js))"', first)
        parts = {"/": len(get("/")), **{path: len(get(path)) for path in linked}}
        print(f"first page: {sum(parts.values()) / 1000:.1f} kB compressed in all, {json.dumps(parts)}; nothing more is asked for")


if __name__ == "__main__":
    main()
