#!/usr/bin/env python3
"""A second reader of the exchange format, written from docs/exchange-format.md alone.

    read_exchange.py kit fixtures/exchange/kit.json     every file of the kit gets the verdict that the kit says
    read_exchange.py folder KEYFILE FOLDER              reads a folder of exchange: devices, facts, gaps, photos
    read_exchange.py readings KEYFILE FOLDER            lists every house's readings, and which of them stand
    read_exchange.py archive FOLDER                     reads an archive

Needs nothing but Python and, for what is encrypted, either the packages pyrage and zstandard or the commands age and zstd.
"""

import hashlib
import json
import os
import re
import subprocess
import sys
import tempfile
import uuid

MIB = 1 << 20
MOST_STORED, MOST_PLAIN, MOST_FACTS = 4 * MIB, 16 * MIB, 20_000
PART = 262_144
WINDOW = 1 << 23
HASH = r"[0-9a-f]{64}"
UUID = r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"
SEGMENT = re.compile(rf"segments/({UUID})/([0-9]{{10}})-([0-9]{{10}})-({HASH})\Z")
PHOTO = re.compile(rf"photos/({HASH})/([0-9]{{4}})-([0-9]{{4}})-({HASH})\Z")
AGE = b"age-encryption.org/v1\n"


class Verdict(Exception):
    """Why something is not believed."""

    def __init__(self, code, says=""):
        super().__init__(f"{code}: {says}")
        self.code = code


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def age_open(key, data):
    """Decrypts with the age format; tells another key from damage."""
    if not data.startswith(AGE):
        raise Verdict("not_age")
    try:
        import pyrage
    except ImportError:
        return age_command(key, data)
    try:
        return pyrage.decrypt(data, [pyrage.x25519.Identity.from_str(key)])
    except Exception as error:  # the package has one class for all of them
        raise age_verdict(str(error)) from None


def age_command(key, data):
    with tempfile.NamedTemporaryFile("w", suffix=".key") as file:
        file.write(key + "\n")
        file.flush()
        done = subprocess.run(["age", "-d", "-i", file.name], input=data, capture_output=True, check=False)
    if done.returncode == 0:
        return done.stdout
    raise age_verdict(done.stderr.decode(errors="replace"))


def age_verdict(text):
    low = text.lower()
    if "no matching keys" in low or "no identity matched" in low:
        return Verdict("not_ours", text)
    if "header is invalid" in low or "failed to read header" in low or "parsing" in low or "fill whole buffer" in low:
        return Verdict("not_age", text)
    return Verdict("does_not_decrypt", text)


def unpack(data):
    """Decompresses zstd, never more than a segment may have."""
    try:
        import zstandard
    except ImportError:
        return unpack_command(data)
    try:
        reader = zstandard.ZstdDecompressor(max_window_size=WINDOW).stream_reader(data, read_across_frames=True)
        plain = b""
        while chunk := reader.read(MIB):
            plain += chunk
            if len(plain) > MOST_PLAIN:
                raise Verdict("plain_too_large")
    except zstandard.ZstdError as error:
        raise Verdict("not_zstd", str(error)) from None
    # The reader ends quietly where a frame is cut off; asked whole, the package says so.
    if not whole_frame(data):
        raise Verdict("not_zstd", "the frame is cut off")
    return plain


def whole_frame(data):
    import zstandard

    decoder = zstandard.ZstdDecompressor(max_window_size=WINDOW).decompressobj()
    decoder.decompress(data)
    return decoder.eof


def unpack_command(data):
    with subprocess.Popen(
        ["zstd", "-d", "-c", "-q", "--memory=8MB"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as run:
        plain, error = run.communicate(data)
    if len(plain) > MOST_PLAIN:
        raise Verdict("plain_too_large")
    if run.returncode != 0:
        raise Verdict("not_zstd", error.decode(errors="replace"))
    return plain


def read_name(name):
    """The four kinds of names; None for anything else."""
    rest = name[len("again/") :] if name.startswith("again/") else name
    if found := SEGMENT.match(rest):
        first, last = int(found[2]), int(found[3])
        return ("segment", found[1], first, last, found[4]) if 1 <= first <= last < first + MOST_FACTS else None
    if found := PHOTO.match(rest):
        part, parts = int(found[2]), int(found[3])
        return ("photo", found[1], part, parts, found[4]) if 1 <= part <= parts <= 4096 else None
    return None


def whole_number(value, below):
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < below


def is_uuid(value):
    try:
        return isinstance(value, str) and bool(uuid.UUID(value))
    except ValueError:
        return False


def read_fact(line, number, most=MIB):
    if len(line) > most:
        raise Verdict("fact", f"line {number} has {len(line)} bytes")
    try:
        fact = json.loads(line)
    except ValueError as error:
        raise Verdict("fact", f"line {number}: {error}") from None
    stamp = fact.get("stamp") if isinstance(fact, dict) else None
    good = (
        isinstance(stamp, dict)
        and all(is_uuid(fact.get(field)) for field in ("id", "device", "job"))
        and whole_number(stamp.get("ms"), 253_402_300_800_000)
        and whole_number(stamp.get("count"), 1 << 32)
        and isinstance(fact.get("by", ""), str)
        and fact.get("unit") in ("in", "ft", "mm", "cm", "m")
        and isinstance(fact.get("kind"), str)
        and "body" in fact
    )
    if not good:
        raise Verdict("fact", f"line {number}")
    return fact


def read_segment(key, name, data):
    """The facts and what they replace, or a Verdict."""
    _, device, first, last, expected = read_name(name)
    if len(data) > MOST_STORED:
        raise Verdict("too_large")
    if sha256(data) != expected:
        raise Verdict("damaged")
    plain = unpack(age_open(key, data))
    lines = plain.split(b"\n")
    if len(lines[0]) > MIB:
        raise Verdict("header", "line 1 is too long")
    try:
        head = json.loads(lines[0])
    except ValueError as error:
        raise Verdict("header", str(error)) from None
    version = head.get("hangtrue_segment") if isinstance(head, dict) else None
    if not whole_number(version, 1 << 32):
        raise Verdict("header", "no version")
    if version > 1:
        raise Verdict("newer")
    replaces = head.get("replaces", [])
    form = (
        is_uuid(head.get("device"))
        and whole_number(head.get("first"), 1 << 64)
        and whole_number(head.get("last"), 1 << 64)
        and isinstance(replaces, list)
        and all(isinstance(item, str) for item in replaces)
    )
    if version == 0 or not form:
        raise Verdict("header")
    if (str(uuid.UUID(head["device"])), head["first"], head["last"]) != (device, first, last):
        raise Verdict("other_name")
    if not all(re.fullmatch(HASH, item) for item in replaces):
        raise Verdict("header")
    said = last - first + 1
    facts, ended = [], False
    for number, line in enumerate(lines[1:], 2):
        if ended:
            raise Verdict("fact", f"line {number - 1} is empty")
        if not line:
            ended = True
            continue
        if len(facts) >= said or len(facts) >= MOST_FACTS:
            raise Verdict("count")
        facts.append(read_fact(line, number))
    if len(facts) != said or not ended:
        raise Verdict("count")
    return facts, replaces


def read_part(key, name, data):
    if sha256(data) != read_name(name)[4]:
        raise Verdict("damaged")
    plain = age_open(key, data)
    if len(plain) > PART:
        raise Verdict("plain_too_large")
    return plain


def read_archive(files):
    """`files` gives the bytes of a path, or None; and lists the names under photos/."""
    get, photos = files
    text = get("archive.json")
    if text is None:
        raise Verdict("not_an_archive")
    try:
        head = json.loads(text)
    except ValueError:
        raise Verdict("not_an_archive") from None
    version = head.get("hangtrue_archive") if isinstance(head, dict) else None
    if whole_number(version, 1 << 64) and version > 1:
        raise Verdict("newer")
    if version != 1 or not all(whole_number(head.get(field), 1 << 64) for field in ("facts", "photos")):
        raise Verdict("not_an_archive")
    lines = get("facts.jsonl")
    if lines is None:
        raise Verdict("not_an_archive")
    if lines and not lines.endswith(b"\n"):
        raise Verdict("damaged", "the last line does not end")
    try:
        facts = [read_fact(line, number, 4 * MIB) for number, line in enumerate(lines.split(b"\n")[:-1], 1)]
    except Verdict as verdict:
        raise Verdict("damaged", str(verdict)) from None
    if len(facts) != head["facts"] or sha256(lines) != head.get("facts_sha256"):
        raise Verdict("damaged")
    names = [name for name in photos() if re.fullmatch(HASH, name)]
    if len(names) != head["photos"] or any(sha256(get(f"photos/{name}")) != name for name in names):
        raise Verdict("damaged")
    return facts


def is_address(text):
    host, colon, port = text.rpartition(":")
    if not colon or not re.fullmatch(r"[0-9]+", port) or not 1 <= int(port) <= 65535:
        return False
    if host.startswith("[") and host.endswith("]"):
        import ipaddress

        try:
            return bool(ipaddress.IPv6Address(host[1:-1])) or True
        except ValueError:
            return False
    return bool(re.fullmatch(r"[A-Za-z0-9.-]{1,253}", host))


def bech32_ok(text, prefix):
    """BIP 173's checksum, as age's keys carry it."""
    letters = "qpzry9x8gf2tvdw0s3jn54khce6mua7l"
    if not text.startswith(prefix + "1") or any(letter not in letters for letter in text[len(prefix) + 1 :]):
        return False
    data = [letters.index(letter) for letter in text[len(prefix) + 1 :]]
    check = 1
    for value in [ord(c) >> 5 for c in prefix] + [0] + [ord(c) & 31 for c in prefix] + data:
        top = check >> 25
        check = (check & 0x1FFFFFF) << 5 ^ value
        for bit, generator in enumerate((0x3B6A57B2, 0x26508E6D, 0x1EA119FA, 0x3D4233DD, 0x2A1462B3)):
            check ^= generator if top >> bit & 1 else 0
    return check == 1 and len(data) == 52 + 6


def read_offer(text):
    start = re.match(r"hangtrue-pair:([^?]*)\?", text.strip())
    if not start:
        raise Verdict("not_an_offer")
    if not re.fullmatch(r"\+?[0-9]+", start[1]):
        raise Verdict("not_an_offer")
    if int(start[1]) != 1:
        raise Verdict("newer" if int(start[1]) > 1 else "not_an_offer")
    at, once = [], {}
    for field in text.strip()[start.end() :].split("&"):
        name, equals, value = field.partition("=")
        if not equals:
            raise Verdict("not_an_offer")
        if name == "at":
            at.append(value)
            if not is_address(value) or len(at) > 8:
                raise Verdict("field")
        elif name in ("cert", "key", "until"):
            if name in once:
                raise Verdict("field")
            once[name] = value
    good = (
        at
        and re.fullmatch(HASH, once.get("cert", ""))
        and bech32_ok(once.get("key", ""), "age")
        and re.fullmatch(r"[0-9]{1,20}", once.get("until", ""))
        and int(once["until"]) < 1 << 64
    )
    if not good:
        raise Verdict("field")


def verdict(work):
    """The code, and what was read."""
    try:
        return "ok", work()
    except Verdict as found:
        return found.code, None


def stored(case):
    if "repeat" in case:
        return bytes([case["repeat"]["byte"]]) * case["repeat"]["count"]
    return bytes.fromhex(case["hex"])


def kit(path):
    with open(path, encoding="utf-8") as file:
        cases = json.load(file)
    key = cases["key"]
    wrong = agreed = 0

    def hold(what, want, got):
        nonlocal wrong, agreed
        if want == got:
            agreed += 1
        else:
            wrong += 1
            print(f"{what}: the kit says {want}, this reader says {got}")

    for case in cases["names"]:
        hold(case["name"], case["ok"], read_name(case["name"]) is not None)
    for case in cases["segments"]:
        code, read = verdict(lambda case=case: read_segment(key, case["name"], stored(case)))
        hold(case["why"], case["verdict"], code)
        if read:
            hold(case["why"], case["facts"], [fact["id"] for fact in read[0]])
            hold(case["why"], case["replaces"], read[1])
    for case in cases["photo_parts"]:
        code, read = verdict(lambda case=case: read_part(key, case["name"], stored(case)))
        hold(case["why"], case["verdict"], code)
        if read is not None and code == "ok":
            hold(case["why"], read_name(case["name"])[1], sha256(read))
    for case in cases["archives"]:
        files = {name: bytes.fromhex(text) for name, text in case["files"].items()}
        names = [name[len("photos/") :] for name in files if name.startswith("photos/")]
        code, _ = verdict(lambda files=files, names=names: read_archive((files.get, lambda: names)))
        hold(case["why"], case["verdict"], code)
    for case in cases["offers"]:
        code, _ = verdict(lambda case=case: read_offer(case["text"]))
        hold(case["text"], case["verdict"], code)
    print(f"{agreed} verdicts agree, {wrong} do not")
    return wrong


def folder(key_path, root):
    with open(key_path, encoding="utf-8") as file:
        key = next(line.strip() for line in file if line.startswith("AGE-SECRET-KEY-1"))
    facts, bad, covered, photos = {}, 0, {}, {}
    for base, _, names in os.walk(root):
        for file in sorted(names):
            path = os.path.join(base, file)
            name = os.path.relpath(path, root).replace(os.sep, "/")
            known = None if name.startswith("again/") else read_name(name)
            if not known:
                continue
            with open(path, "rb") as opened:
                data = opened.read()
            if known[0] == "photo":
                code, part = verdict(lambda name=name, data=data: read_part(key, name, data))
                if code == "ok":
                    photos.setdefault(known[1], {})[known[2]] = part
            else:
                code, read = verdict(lambda name=name, data=data: read_segment(key, name, data))
                if code == "ok":
                    facts.update({fact["id"]: fact for fact in read[0]})
                    covered.setdefault(known[1], set()).update(range(known[2], known[3] + 1))
            if code != "ok":
                bad += 1
                print(f"{name}: {code}")
    for device, numbers in sorted(covered.items()):
        missing = max(numbers) - len(numbers)
        print(f"device {device}: facts 1 to {max(numbers)}, {missing} missing")
    whole = sum(sha256(b"".join(parts[n] for n in sorted(parts))) == photo for photo, parts in photos.items())
    print(f"{len(facts)} facts, {whole} of {len(photos)} photos whole, {bad} objects not believed")
    print(f"facts by id hash to {sha256(''.join(sorted(facts)).encode())}")
    return bad


def readings(key_path, root):
    """Lists every house's readings, as the document says."""
    facts, _ = read_folder(key_path, root)
    houses = {}
    for fact in facts.values():
        houses.setdefault(fact["job"], []).append(fact)
    for job in sorted(houses):
        for line in house_readings(houses[job]):
            print(line)
    return 0


def house_readings(facts):
    """One line a reading: house, room, opening, place, what was read, whether it stands."""
    facts = sorted(facts, key=lambda fact: (fact["stamp"]["ms"], fact["stamp"]["count"], fact["device"], fact["id"]))
    if any(fact["kind"] == "house_erased" for fact in facts):
        return []
    undos = {fact["id"]: fact["body"]["fact"] for fact in facts if fact["kind"] == "undone"}
    known = {}

    def undone(fact, on_the_way=()):
        """True when an undo that counts names it."""
        if fact not in known:
            known[fact] = any(
                target == fact and undo not in on_the_way and not undone(undo, (*on_the_way, fact))
                for undo, target in undos.items()
            )
        return known[fact]

    names, rooms, openings, moved, removed, found, withdrawn, house = {}, [], {}, {}, set(), {}, set(), ""
    replaced = {
        old
        for fact in facts
        if fact["kind"] == "set" and not undone(fact["id"])
        for old in fact["body"].get("replaces", [])
        if old != fact["id"]
    }
    for fact in facts:
        kind, body = fact["kind"], fact["body"]
        gone = undone(fact["id"])
        if kind == "reading_taken":
            reading = body["reading"]
            back = gone or "withdrawn" in reading
            found.setdefault(reading["id"], (body["opening"], reading, back, fact["unit"]))
        elif gone:
            continue
        elif kind == "house_opened":
            house = house or body["name"]
        elif kind == "room_added" and body["room"] not in rooms:
            rooms.append(body["room"])
            names.setdefault(body["room"], body["name"])
        elif kind == "opening_added":
            openings.setdefault(body["opening"], body["room"])
            names.setdefault(body["opening"], body["name"])
        elif kind in ("room_removed", "opening_removed"):
            removed.add(body["room" if kind == "room_removed" else "opening"])
        elif kind == "reading_withdrawn":
            withdrawn.add(body["reading"])
        elif kind == "set" and body["field"] == "name" and fact["id"] not in replaced:
            names[body["on"]] = body["value"]
        elif kind == "set" and body["field"] == "room" and fact["id"] not in replaced:
            moved[body["on"]] = body["value"]
    job = facts[0]["job"]
    house = names.get(job, house)
    back = {name for name, (_, _, taken, _) in found.items() if taken} | withdrawn
    amended = {reading.get("amends") for name, (_, reading, _, _) in found.items() if name not in back}
    lines = []
    for name, (opening, reading, _, unit) in found.items():
        room = moved.get(opening)
        room = room if room in rooms else openings.get(opening)
        if room not in rooms or room in removed or opening in removed:
            continue
        state = "taken back" if name in back else "corrected" if name in amended else "stands"
        what = [house, names[room], names[opening], reading["place"], f"{reading['read']} [{unit}]", state]
        lines.append("\t".join(what))
    return lines


def read_folder(key_path, root):
    """All sound facts of a folder by id, and how many objects were not believed."""
    with open(key_path, encoding="utf-8") as file:
        key = next(line.strip() for line in file if line.startswith("AGE-SECRET-KEY-1"))
    facts, bad = {}, 0
    for base, _, names in os.walk(os.path.join(root, "segments")):
        for file in sorted(names):
            path = os.path.join(base, file)
            name = os.path.relpath(path, root).replace(os.sep, "/")
            known = read_name(name)
            if not known or known[0] != "segment" or not os.path.isfile(path):
                continue
            with open(path, "rb") as opened:
                data = opened.read()
            code, read = verdict(lambda name=name, data=data: read_segment(key, name, data))
            if code != "ok":
                bad += 1
                continue
            for fact in read[0]:
                facts.setdefault(fact["id"], fact)
    return facts, bad


def archive(root):
    def get(name):
        path = os.path.join(root, name)
        if not os.path.exists(path):
            return None
        with open(path, "rb") as file:
            return file.read()

    def photos():
        path = os.path.join(root, "photos")
        return os.listdir(path) if os.path.isdir(path) else []

    code, facts = verdict(lambda: read_archive((get, photos)))
    print(f"{code}: {len(facts or [])} facts")
    if facts:
        print(f"facts by id hash to {sha256(''.join(sorted(fact['id'] for fact in facts)).encode())}")
    return code != "ok"


def main(arguments):
    commands = {"kit": (kit, 1), "folder": (folder, 2), "archive": (archive, 1), "readings": (readings, 2)}
    if not arguments or arguments[0] not in commands or len(arguments) - 1 != commands[arguments[0]][1]:
        print(__doc__)
        return 2
    return 1 if commands[arguments[0]][0](*arguments[1:]) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
