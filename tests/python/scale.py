#!/usr/bin/env python3
"""The exchange at the scale: ten thousand workrooms of twenty devices on one object store. `docs/scale.md` explains it.

    scale.py                  prints the tables that stand in docs/scale.md, the same each time (half a minute)
    scale.py --count PROGRAM  runs the built program against a stand-in for an object store that counts what it is asked,
                              and holds `calls` below to it
"""

import hashlib
import http.server
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import threading
from array import array
from bisect import bisect_left
from itertools import accumulate
from pathlib import Path
from urllib.parse import parse_qsl, unquote, urlsplit

# From the code: names a page, facts of a small segment, bytes of a photo's part, bytes of a hub's list.
PAGE, SMALL, PART, HUB_LIST = 1000, 2000, 262_144, 32 << 20
# Measured (README): a million facts are 205 segments and are merged in 7.4 s; a day's house of 300 facts is 14.8 kB; 300,000
# facts in full segments are 10.6 MB. A segment of one fact has 540 to 660 bytes (`--count`).
FULL, MERGE_S = 1_000_000 // 205, 7.4e-6
SIZES = [(1, 600.0), (300, 14_800.0), (FULL, FULL * 10.6e6 / 300_000)]
# Assumed: the fleet and its day, in seconds; bytes of a name's entry in a listing; requests a second of one device.
WORKROOMS, DEVICES, PHONES, YEAR, MONTH = 10_000, 20, 10, 250, 21
HOUSE, DESK_FACTS, PHOTOS, PHOTO_BYTES, BETWEEN = 300, 20, 4, 2_000_000, 4
MORNING, DAY, EVENING, MEASURED = (27_000, 27_900), (28_800, 61_200), (61_200, 64_800), (37_800, 57_600)
ENTRY, SPEED = 333, 20.0
# Assumed, not a quotation: a thousand puts, lists, gets (a removal as a put); a GB kept for a month; a GB read.
PUT, LIST, GET, KEPT, READ = 0.01, 0.01, 0.001, 0.02, 0.05

PARTS = -(-PHOTO_BYTES // PART)
DECADE = 10 * YEAR
Calls = tuple[int, int, int]
Event = tuple[float, int, int, int, float, int]


def pages(names: int) -> int:
    return max(1, -(-names // PAGE))


def calls(listed: int, fresh: int = 0, own: int = 0, parts: int | None = None, arrive: int = 0, of: int = 0, bring: int = 0) -> Calls:
    """Lists, gets and puts of one exchange with a bucket: `listed` segments lie there, `fresh` are not read yet, `own` go out;
    `parts` of photos lie there (None: this device has no photo), `arrive` photos of `of` parts come, `bring` parts go out."""
    lists = pages(listed) + 1 + (0 if parts is None else pages(parts)) + arrive
    return lists, fresh + own + arrive * of + bring, own + bring


def stored(facts: int) -> float:
    """Bytes of a segment: on straight lines between the sizes that were measured."""
    (x0, y0), (x1, y1) = SIZES[:2] if facts <= HOUSE else SIZES[1:]
    return y0 + (facts - x0) * (y1 - y0) / (x1 - x0) if facts else 0.0


def join(sizes: list[int]) -> tuple[list[int], list[tuple[int, int]], int]:
    """As `compact`: neighbours that are small become segments as full as may be. All sizes after it, those of the new ones with
    how many each replaces, and how many were removed."""
    after, new, removed, run = [], [], 0, []
    if sum(size < SMALL for size in sizes) < 2:
        return sizes, new, 0
    for size in [*sizes, SMALL]:
        if size < SMALL:
            run.append(size)
            continue
        made = [min(FULL, sum(run) - at) for at in range(0, sum(run), FULL)]
        new += [(facts, len(run) * facts // sum(run)) for facts in made]
        after, removed, run = [*after, *made, size], removed + len(run), []
    return after[:-1], new, removed


def a_day(chance: random.Random) -> list[Event]:
    """A workroom's day, as every day before it. Each exchange, in order: its time, whose, the facts that it brings, and the
    segments, bytes and photos that it finds new."""
    found: list[tuple[float, int, int]] = []
    for device in range(DEVICES):
        day = sorted(chance.uniform(*DAY) for _ in range(BETWEEN))
        times, brings = [chance.uniform(*MORNING), *day, chance.uniform(*EVENING)], [0] * (BETWEEN + 2)
        house = [chance.uniform(*MEASURED)] * HOUSE
        for at in house if device < PHONES else [chance.uniform(*DAY) for _ in range(DESK_FACTS)]:
            brings[bisect_left(times, at)] += 1
        found += [(at, device, facts) for at, facts in zip(times, brings)]
    found.sort()
    sums = [(0, 0.0, 0)]
    for _, _, facts in found:
        segments, size, photos = sums[-1]
        sums.append((segments + (facts > 0), size + stored(facts), photos + PHOTOS * (facts == HOUSE)))
    # What a device had seen yesterday evening, counted from this morning.
    seen = {device: tuple(a - b for a, b in zip(sums[n + 1], sums[-1])) for n, (_, device, _) in enumerate(found)}
    events = []
    for n, (at, device, facts) in enumerate(found):
        segments, size, photos = (now - then for now, then in zip(sums[n], seen[device]))
        events.append((at, device, facts, segments, size, photos))
        seen[device] = sums[n + 1]
    return events


def a_second(times: array, requests: array, more: int) -> list[float]:
    """The requests in each second of a day; an exchange sends its own and `more`, one after the other."""
    weight, moment = [0.0] * 86_402, [0.0] * 86_402
    for at, count in zip(times, requests):
        for when, sign in ((at, SPEED), (min(at + (count + more) / SPEED, 86_399.0), -SPEED)):
            weight[int(when) + 1] += sign
            moment[int(when) + 1] += sign * when
    total = [second * w - m for second, (w, m) in enumerate(zip(accumulate(weight), accumulate(moment)))]
    return [b - a for a, b in zip(total, total[1:])]


def at_once(times: array, requests: array, more: int, each: int) -> int:
    """The most devices of one workroom that exchange at one moment."""
    most = 0
    for first in range(0, len(times), each):
        edges = [(times[n] + end * (requests[n] + more) / SPEED, 1 - 2 * end) for n in range(first, first + each) for end in (0, 1)]
        most = max(most, *accumulate(step for _, step in sorted(edges)))
    return most


def ten_years(chance: random.Random) -> tuple[dict[int, int], dict[str, dict[str, float]]]:
    """One workroom's segments at the end of the first and the tenth year where each device joins its own every month (the mean
    of the last month), and what joining did: never, monthly, and once at the end."""
    raw, own = [[] for _ in range(DEVICES)], [[] for _ in range(DEVICES)]
    did = {how: dict.fromkeys(("puts", "removed", "rewritten"), 0.0) for how in ("never", "monthly", "once")}
    lies: list[int] = []

    def joined(sizes: list[int], how: dict[str, float]) -> list[int]:
        after, new, removed = join(sizes)
        how["puts"], how["removed"] = how["puts"] + len(new), how["removed"] + removed
        # The hash of one that is replaced is 64 hexadecimal digits: 32 bytes at best, and its separators.
        how["rewritten"] += sum(stored(facts) + 33 * many for facts, many in new)
        return after

    for day in range(1, DECADE + 1):
        for _, device, facts, *_ in a_day(chance):
            if facts:
                raw[device].append(facts)
                own[device].append(facts)
        for device in (device for device in range(DEVICES) if (day + device) % MONTH == 0):
            own[device] = joined(own[device], did["monthly"])
        lies.append(sum(map(len, own)))
    for how, all_ in (("never", raw), ("monthly", own), ("once", [joined(sizes, did["once"]) for sizes in raw])):
        did[how] |= {"segments": sum(map(len, all_)), "bytes": sum(stored(facts) for sizes in all_ for facts in sizes)}
        did[how]["of phones"] = sum(map(len, all_[:PHONES]))
    return {years: round(sum(lies[years * YEAR - MONTH : years * YEAR]) / MONTH) for years in (1, 10)}, did


def stated() -> None:
    """What the code's own tests and documents say of the same."""
    # DEVELOPERS.md: 16 fault points on the way to the hub are 8 requests, each struck twice. (A hub reads back by itself.)
    lists, gets, puts = calls(1, 1, 1, parts=0, arrive=1, of=1, bring=1)
    assert lists + (gets - puts) + puts == 8
    # sync_faults.rs: the phone sends more than five requests. sync.rs: twenty segments become one, one stays one. sync.rs and
    # places.rs: photos of 700,000 and 300,000 bytes have three and two parts.
    assert sum(calls(1, own=1, parts=0, bring=2)) - 3 > 5
    assert join([4] + [1] * 19) == ([23], [(23, 20)], 20) and join([23]) == ([23], [], 0)
    assert [-(-size // PART) for size in (700_000, 300_000)] == [3, 2]


def show(number: object) -> str:
    if isinstance(number, float):
        return f"{number:,.{2 if abs(number) < 10 else 1 if abs(number) < 100 else 0}f}"
    return f"{number:,}" if isinstance(number, int) else str(number)


def table(title: str, *heads: str) -> None:
    print(f"\n{title}\n\n| {' | '.join(heads)} |\n|{'---|' * len(heads)}")


def row(*cells: object) -> None:
    print(f"| {' | '.join(map(show, cells))} |")


def cost(puts: float, lists: float, gets: float, read: float, kept: float) -> float:
    return (puts * PUT + lists * LIST + gets * GET) / 1e3 + read / 1e9 * READ + kept / 1e9 * KEPT / 30


def main() -> None:
    stated()
    chance = random.Random(20)
    times, plain, full = array("d"), array("d"), array("d")
    put = get = arrived = wrote = read = 0.0
    for _ in range(WORKROOMS):
        for at, _, own, fresh, size, photos in a_day(chance):
            lists, gets, puts = calls(0, fresh, int(own > 0))
            bring = PHOTOS * PARTS * (own == HOUSE)
            times.append(at)
            # Without the pages of the listings, which depend on the age of the place.
            plain.append(lists - 1 + gets + puts)
            full.append(sum(calls(0, fresh, int(own > 0), 0, photos, PARTS, bring)) - 2)
            put, get, arrived = put + puts / WORKROOMS, get + gets / WORKROOMS, arrived + photos / WORKROOMS
            wrote, read = wrote + stored(own) / WORKROOMS, read + (size + stored(own)) / WORKROOMS
    each, facts = len(times) // WORKROOMS, PHONES * (HOUSE + DESK_FACTS)
    taken, parts_day = PHONES * PHOTOS, PHONES * PHOTOS * PARTS
    lies, did = ten_years(random.Random(10))
    never, monthly, late = did["never"], did["monthly"], int(did["never"]["segments"])
    print(f"A workroom's day: {each} exchanges, {facts:,} facts in {put:.1f} segments, {wrote / 1e3:.0f} kB in all; {get:,.0f} gets of "
          f"segments, {read / 1e6:.2f} MB. {taken} photos in {parts_day} parts, which arrive at others {arrived:.0f} times.")

    table("One exchange with a bucket", "what", "lists", "gets", "puts")
    row("nothing new, up to 1,000 segments there", *calls(1000))
    row("nothing new, 1,500 there", *calls(1500))
    row("one's own new house", *calls(1000, own=1))
    row("another's new house", *calls(1000, 1))
    row(f"one's own, with {PHOTOS} photos of {PARTS} parts, up to 1,000 parts there", *calls(1000, own=1, parts=0, bring=PHOTOS * PARTS))
    row("another's, with as many", *calls(1000, 1, parts=0, arrive=PHOTOS, of=PARTS))

    def ages(title: str, photos: int) -> None:
        table(title, "age, years", "joined", "names listed", "lists an exchange", "puts", "lists", "gets", "read, MB", "of it lists, MB", "kept, GB", "cost",
              "fleet: million requests", "fleet: TB read", "fleet: cost")
        for years, how in ((0, "never"), (1, "never"), (1, "monthly"), (10, "never"), (10, "monthly")):
            segments = lies[years] if how == "monthly" else round(late * years / 10)
            parts = parts_day * YEAR * years if photos else None
            an_exchange, done = calls(segments, parts=parts)[0], did[how]
            listing = each * (segments + (parts or 0)) * ENTRY
            puts = put + (done["puts"] + done["removed"]) / DECADE + photos * parts_day
            lists = each * an_exchange + photos * arrived + (DEVICES / MONTH if how == "monthly" else 0)
            gets = get + done["puts"] * DEVICES / DECADE + photos * PARTS * (taken + arrived)
            out = read + listing + done["rewritten"] * DEVICES / DECADE + photos * PHOTO_BYTES * (taken + arrived)
            kept = (done["bytes"] / DECADE + photos * PHOTO_BYTES * taken) * YEAR * years
            money = cost(puts, lists, gets, out, kept)
            row(years or "new", how, segments + (parts or 0), an_exchange, puts, lists, gets, out / 1e6, listing / 1e6, kept / 1e9, money,
                (puts + lists + gets) * WORKROOMS / 1e6, out * WORKROOMS / 1e12, money * WORKROOMS)

    ages("A day, facts alone", 0)
    ages("A day with photos", 1)

    table("Ten years of one workroom's segments", "joined", "segments", "kept, MB", "puts for it", "removed", "rewritten, MB", "read again by the others, MB")
    for how, done in did.items():
        again = done["rewritten"] * (DEVICES - 1) / 1e6
        row(how, int(done["segments"]), done["bytes"] / 1e6, int(done["puts"]), int(done["removed"]), done["rewritten"] / 1e6, again)

    old = parts_day * DECADE
    squeezed = array("d", (MORNING[0] + (at - MORNING[0]) / 15 if at < MORNING[1] else at for at in times))
    table("Requests a second after ten years, the whole fleet in one time zone", "place", "all begin in", "mean of 24 h", "busiest second",
          "times the mean", "devices of one workroom at once", "their requests a second")
    for name, base, more in (("joined", plain, pages(lies[10])), ("never joined", plain, pages(late)), ("joined, photos", full, pages(lies[10]) + pages(old))):
        for window, when in (("15 minutes", times), ("1 minute", squeezed)):
            load, most = a_second(when, base, more), at_once(when, base, more, each)
            row(name, window, sum(load) / 86_400, max(load), round(max(load) * 86_400 / sum(load)), most, most * SPEED)

    photos = taken * DECADE
    table("A new device's first exchange after ten years", "", "objects", "requests", "MB", "hours", "merged in, s", "list of wanted photos written, GB")
    for name, done in (("facts, never joined", never), ("facts, joined monthly", monthly)):
        segments, holders = int(done["segments"]), PHONES * DECADE if done is never else done["of phones"]
        requests = sum(calls(segments, segments))
        row(name, segments, requests, done["bytes"] / 1e6, requests / SPEED / 3600, facts * DECADE * MERGE_S, photos * 65 * holders / 2 / 1e9)
    row("photos", photos * PARTS, photos * (1 + PARTS), photos * PHOTO_BYTES / 1e6, photos * (1 + PARTS) / SPEED / 3600, "", "")

    lengths = [len(f"segments/{'0' * 36}/{'0' * 21}-{'0' * 64}\n"), len(f"photos/{'0' * 64}/0001-0008-{'0' * 64}\n")]
    table("What grows in ten years", "what", "to", "bound")
    row("marks of segments in one book", late, "none: the mark of a segment that is gone stays")
    row("the same in MB, a name and a value of 90 bytes", late * 90 / 1e6, "none")
    row("lookups of marks an exchange, joined monthly", lies[10], "one for each segment listed, two for one's own")
    row("a new book's list of wanted photos, MB", photos * 65 / 1e6, "none")
    desks = (put - PHONES) / (DEVICES - PHONES) * DECADE
    row("a desk's list of its own rows, kB, 16 bytes a range, written anew when anything is new", desks * 16 / 1e3, "none")
    for what, many, length, a_year in (("segments", late, lengths[0], put * YEAR), ("parts of photos", old, lengths[1], parts_day * YEAR)):
        row(f"{what} in a hub's list", many, f"{HUB_LIST // length:,}, reached after {HUB_LIST / length / a_year:.1f} years")
    row(f"the same in photos of {PHOTO_BYTES / 1e6:.0f} MB", photos, f"{HUB_LIST // lengths[1] // PARTS:,}")

    table("A hub's folder mirrored to the bucket four times a day, after ten years", "", "puts", "lists", "gets", "read, MB", "cost", "fleet: cost")
    for name, with_ in (("facts alone", 0), ("with photos", 1)):
        puts, lists = put + with_ * parts_day, 4 * (pages(late) + 1 + pages(with_ * old))
        out = wrote + 4 * (late + with_ * old) * ENTRY + with_ * taken * PHOTO_BYTES
        money = cost(puts, lists, puts, out, never["bytes"] + with_ * photos * PHOTO_BYTES)
        row(name, puts, lists, puts, out / 1e6, money, money * WORKROOMS)


class Store(http.server.BaseHTTPRequestHandler):
    """As much of an object store as the program asks for; what it is asked is counted."""

    protocol_version = "HTTP/1.1"
    objects: dict[str, bytes] = {}
    entry = 0
    asked = {"list": 0, "get": 0, "put": 0, "remove": 0}

    def log_message(self, *_: object) -> None:
        pass

    def reply(self, status: int, body: bytes | str = b"") -> None:
        body = body.encode() if isinstance(body, str) else body
        self.send_response(status)
        for head in (("Content-Length", str(len(body))), ("ETag", '"0"'), ("Last-Modified", "Fri, 27 Nov 2026 08:00:00 GMT")):
            self.send_header(*head)
        self.end_headers()
        self.wfile.write(body)

    def do_GET(self) -> None:
        url = urlsplit(self.path)
        query, name = dict(parse_qsl(url.query)), unquote(url.path).split("/", 2)[-1]
        if "list-type" not in query:
            self.asked["get"] += 1
            return self.reply(200 if name in self.objects else 404, self.objects.get(name, b""))
        self.asked["list"] += 1
        names = sorted(n for n in self.objects if n.startswith(query["prefix"]) and n > query.get("continuation-token", ""))
        more = f"<NextContinuationToken>{names[PAGE - 1]}</NextContinuationToken>" if len(names) > PAGE else ""
        rest = f"<LastModified>2026-11-27T08:00:00.000Z</LastModified><ETag>&quot;{'0' * 32}&quot;</ETag><StorageClass>STANDARD</StorageClass>"
        text = "".join(f"<Contents><Key>{n}</Key><Size>{len(self.objects[n])}</Size>{rest}</Contents>" for n in names[:PAGE])
        Store.entry = len(text) // len(names) if 0 < len(names) <= PAGE else Store.entry
        return self.reply(200, f"<ListBucketResult><IsTruncated>{str(more != '').lower()}</IsTruncated>{more}{text}</ListBucketResult>")

    def do_PUT(self) -> None:
        name, body = unquote(self.path).split("/", 2)[-1], self.rfile.read(int(self.headers["Content-Length"]))
        self.asked["put"] += 1
        self.reply(412 if name in self.objects else 200)
        self.objects.setdefault(name, body)

    def do_POST(self) -> None:
        gone = re.findall("<Key>([^<]*)</Key>", self.rfile.read(int(self.headers["Content-Length"])).decode())
        self.asked["remove"] += len([self.objects.pop(name) for name in gone])
        self.reply(200, f"<DeleteResult>{''.join(f'<Deleted><Key>{name}</Key></Deleted>' for name in gone)}</DeleteResult>")


def count(program: str, at: Path) -> None:
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Store)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    keys = {f"AWS_{key}": "invented" for key in ("ACCESS_KEY_ID", "SECRET_ACCESS_KEY", "REGION")}
    keys |= {"AWS_ENDPOINT": f"http://127.0.0.1:{server.server_port}", "AWS_ALLOW_HTTP": "true"}

    def run(*words: str, book: str = "none.book") -> None:
        more = [] if words[0] == "key" else ["--book", book]
        subprocess.run([program, *words, *more], cwd=at, env=os.environ | keys, check=True, capture_output=True)

    def sync(book: str, what: str, want: Calls, *more: str, removed: int = 0) -> None:
        Store.asked.update(dict.fromkeys(Store.asked, 0))
        run("sync", "s3://firm/one", "--key", "firm.key", *more, book=book)
        print(f"{book}: {what}: {Store.asked}")
        assert tuple(Store.asked.values()) == (*want, removed), (want, removed)

    run("key", "firm.key")
    run("take", str(Path(__file__).resolve().parents[2] / "fixtures/houses/heron-lane.json"), book="phone")
    sync("phone", "its new house", calls(0, own=1))
    sync("phone", "nothing new", calls(1))
    sync("desk", "another's new house", calls(1, 1))
    for n in range(3):
        run("read", "heron", "study, east", "width_top", f"3{n} 1/4", book="phone")
        sync("phone", "one more reading", calls(1 + n, own=1))
    print("bytes of the segments:", *sorted(map(len, Store.objects.values())), "of their entries in a listing:", Store.entry)
    # A third book gets all out of an archive, and a photo that another device took: what the place lacks it carries there.
    run("archive", "kept", book="phone")
    facts = [json.loads(line) for line in (at / "kept/facts.jsonl").read_text().splitlines()]
    opening, photo = next(fact for fact in facts if fact["kind"] == "opening_added"), random.Random(1).randbytes(600_000)
    shown = {"sha256": hashlib.sha256(photo).hexdigest(), "caption": "sill", "at": "2026-11-27T08:00:00Z", "by": "Ida"}
    new = {"id": "019f0000-0000-7000-8000-000000000001", "device": "00000000-0000-4000-8000-0000000000aa", "kind": "photo_added"}
    facts.append(opening | new | {"body": {"on": opening["body"]["opening"], "photo": shown}})
    text = "".join(json.dumps(fact) + "\n" for fact in facts).encode()
    (at / "kept/facts.jsonl").write_bytes(text)
    (at / "kept/photos").mkdir(exist_ok=True)
    (at / "kept/photos" / shown["sha256"]).write_bytes(photo)
    says = {"hangtrue_archive": 1, "facts": len(facts), "facts_sha256": hashlib.sha256(text).hexdigest(), "photos": 1}
    (at / "kept/archive.json").write_text(json.dumps(says))
    run("restore", "kept", book="third")
    sync("third", "four are read, one goes out, and a photo of three parts", calls(4, 4, 1, parts=0, bring=3))
    sync("third", "nothing new, with a photo here", calls(5, parts=3))
    sync("desk", "four of others and a photo of three parts", calls(5, 4, arrive=1, of=3))
    # Names that are nobody's stand in the listing too.
    Store.objects.update({f"one/segments/x/{n}": b"" for n in range(1500)})
    sync("phone", "one of another's and the photo, 1,505 names", calls(1505, 1, arrive=1, of=3))
    lists, gets, puts = calls(1505, parts=3)
    sync("phone", "joins four into one", (lists + 1, gets + 1, puts + 1), "--compact", removed=4)
    sync("desk", "reads the joined one", calls(1502, 1, parts=3))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--count"]:
        with tempfile.TemporaryDirectory() as folder:
            count(os.path.abspath(sys.argv[2]), Path(folder))
    else:
        main()
