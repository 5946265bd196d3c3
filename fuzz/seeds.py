#!/usr/bin/env python3
"""Writes the first corpus of the fuzzers out of the kit of the exchange format (`fixtures/exchange/kit.json`).

    fuzz/seeds.py FOLDER        adds FOLDER/segment, FOLDER/offer, FOLDER/request

Needs the age and zstd commands. What the fuzzers find beyond it and is text is kept in `fuzz/corpus`.
"""

import json
import os
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))


def run(command, data):
    done = subprocess.run(command, input=data, capture_output=True, check=False)
    return done.stdout if done.returncode == 0 else None


def main(out):
    with open(os.path.join(HERE, "../fixtures/exchange/kit.json"), encoding="utf-8") as file:
        kit = json.load(file)
    count = 0

    def keep(target, data):
        nonlocal count
        folder = os.path.join(out, target)
        os.makedirs(folder, exist_ok=True)
        with open(os.path.join(folder, f"kit-{count:03}"), "wb") as file:
            file.write(data)
        count += 1

    with tempfile.NamedTemporaryFile("w", suffix=".key") as key:
        key.write(kit["key"] + "\n")
        key.flush()
        for case in kit["segments"]:
            stored = bytes.fromhex(case.get("hex", ""))
            packed = run(["age", "-d", "-i", key.name], stored)
            plain = run(["zstd", "-d", "-c", "-q"], packed) if packed else None
            keep("segment", b"a" + stored)
            if packed:
                keep("segment", b"z" + packed)
            if plain and len(plain) < 1 << 16:
                keep("segment", b"p" + plain)
    for case in kit["photo_parts"]:
        keep("segment", b"f" + bytes.fromhex(case["hex"]))
    names = "".join(case["name"] + "\n" for case in kit["names"] if case["ok"]).encode()
    keep("segment", b"l" + run(["zstd", "-q", "-c"], names))
    for case in kit["names"]:
        keep("offer", case["name"].encode())
    for case in kit["offers"]:
        keep("offer", case["text"].encode())
    offer = next(case["text"] for case in kit["offers"] if case["verdict"] == "ok")
    reply = offer.split("key=")[1].split("&")[0]
    ask = {"device": "00000000-0000-0000-0000-000000000005", "name": "phone", "reply": reply, "secret": "07" * 32}
    keep("request", b"a" + json.dumps(ask).encode())
    keep("request", b"d123456")
    keep("request", b"d 12 34 56 ")
    keep("request", b"p" + b"07" * 32)
    for digit in b"0123456789":
        keep("request", bytes([digit]) + b'{"says":"no"}')
        keep("request", bytes([digit]) + b'{"sha256":"' + b"07" * 32 + b'"}')
        keep("request", bytes([digit]) + run(["zstd", "-q", "-c"], names))


if __name__ == "__main__":
    main(*sys.argv[1:])
