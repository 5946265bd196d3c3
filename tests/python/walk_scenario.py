"""Runs the scenarios through the generated Python and compares every screen and house with what the Rust test saw.

Usage: walk_scenario.py FOLDER-OF-THE-LIBRARY
`cargo test -p hangtrue-tests --test walk_scenario` writes the digests under target/scenarios/ first.
"""

import json
import os
import shutil
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def load(library_folder):
    """The generated module, beside a link to the library: that is where it looks for it."""
    place = Path(tempfile.mkdtemp(prefix="hangtrue-python-"))
    shutil.copy(ROOT / "bindings/generated/python/hangtrue.py", place)
    name = "libhangtrue_bindings" + (".dylib" if sys.platform == "darwin" else ".so")
    os.symlink(Path(library_folder).resolve() / name, place / name)
    sys.path.insert(0, str(place))
    import hangtrue

    return hangtrue, place


def keys(hangtrue, number):
    """The keys of a number as it is written."""
    signs = {
        ".": hangtrue.PadKey.POINT(),
        "'": hangtrue.PadKey.FEET(),
        "-": hangtrue.PadKey.SIGN(),
        "<": hangtrue.PadKey.ERASE(),
    }
    for word in number.split():
        if "/" in word:
            part, of = word.split("/")
            yield hangtrue.PadKey.SIXTEENTHS(int(part) * 16 // int(of))
        else:
            for sign in word:
                yield signs[sign] if sign in signs else hangtrue.PadKey.DIGIT(int(sign))


def run(hangtrue, path, want):
    """Runs one scenario. Gives the number of steps and of values checked."""
    steps = json.loads(path.read_text())["steps"]
    folder = Path(tempfile.mkdtemp(prefix="hangtrue-books-"))
    books, now, checked = {}, None, 0
    assert len(steps) == len(want), f"{path.name}: {len(steps)} steps here, {len(want)} in the Rust test"
    for n, step in enumerate(steps):
        at = f"{path.name}, step {n}: {step}"
        book = books.get(now)
        if "open" in step:
            now = step["open"]
            books.pop(now, None)
            book = None
            books[now] = hangtrue.HouseBook.open_seeded(str(folder / now), step["seed"])
        elif "book" in step:
            now = step["book"]
        elif "touch" in step:
            book.act(book.event_of(step["touch"]))
        elif "type" in step:
            for key in keys(hangtrue, step["type"]):
                book.act(hangtrue.Event.PRESS(key=key))
        elif "words" in step:
            book.act(hangtrue.Event.TYPE_WORDS(slot=step["words"], text=step["text"]))
        elif "event" in step:
            book.act(hangtrue.event_from_json(json.dumps(step["event"])))
        elif "refused" in step:
            try:
                book.act(hangtrue.event_from_json(json.dumps(step["refused"])))
            except hangtrue.BookFault.Refused as fault:
                assert fault.reason and fault.advice, at
            else:
                raise AssertionError(f"{at}: was not refused")
        elif "clock_step" in step:
            book.set_clock_step(step["clock_step"])
        elif "merge_from" in step:
            book.merge_facts(books[step["merge_from"]].facts_after(0, 10_000).lines)
        elif "merge" in step:
            book.merge_facts(step["merge"])
        elif "same_houses" in step:
            assert len({books[name].houses_digest() for name in step["same_houses"]}) == 1, at
        else:
            raise AssertionError(f"{at}: there is no such step")
        book = books[now]
        for pointer, value in step.get("expect", {}).items():
            found = json.loads(book.screen_json())
            for part in pointer.split("/")[1:]:
                found = found[int(part) if isinstance(found, list) else part]
            assert found == value, f"{at} {pointer}: {found}"
            checked += 1
        saw = f"{book.screen_digest()} {book.houses_digest()}"
        assert saw == want[n], f"{at}: another screen than in Rust"
    shutil.rmtree(folder)
    return len(steps), checked


def main():
    hangtrue, place = load(sys.argv[1] if len(sys.argv) > 1 else ROOT / "target/debug")
    passed = 0
    for path in sorted((ROOT / "fixtures/scenarios").glob("*.json")):
        digests = ROOT / "target/scenarios" / (path.stem + ".digests")
        steps, checked = run(hangtrue, path, digests.read_text().splitlines())
        print(f"{path.name}: {steps} steps as in Rust, {checked} values checked")
        passed += 1
    shutil.rmtree(place)
    assert passed, "there is no scenario"
    print(f"{passed} passed, 0 failed")


if __name__ == "__main__":
    main()
