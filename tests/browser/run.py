"""The page, end to end. `./check page` runs all; names of journeys on the command line run only those.

    target/venv/bin/python tests/browser/run.py --program target/debug/hangtrue [NAME...]

Pictures of every page and the PDF of every sheet stay in target/pictures/page, to be looked at.
"""

import argparse
import sys
import time
import traceback

import after
import around
import attacks
import cloths
import journeys
import labels
import looks
import paper
import prices
import together

ALL = [
    *journeys.JOURNEYS,
    *together.JOURNEYS,
    *prices.JOURNEYS,
    *cloths.JOURNEYS,
    *after.JOURNEYS,
    *around.JOURNEYS,
    attacks.nothing_gets_in,
    attacks.words_stay_words,
    looks.html_is_valid,
    looks.everything_is_seen,
    looks.bright_light,
    looks.sheets_look_as_in_their_files,
    paper.sheets_on_paper,
    labels.labels_on_paper,
    labels.labels_on_the_page,
]


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--program", default="target/debug/hangtrue")
    words.add_argument("names", nargs="*", help="only these")
    asked = words.parse_args()
    unknown = set(asked.names) - {each.__name__ for each in ALL}
    if unknown:
        sys.exit(f"there is no {', '.join(sorted(unknown))}; there are: {', '.join(each.__name__ for each in ALL)}")
    failed = []
    for each in ALL:
        if asked.names and each.__name__ not in asked.names:
            continue
        began = time.monotonic()
        try:
            each(asked.program)
        except Exception:  # one that fails must not hide the others
            failed.append(each.__name__)
            traceback.print_exc()
        word = "FAILED" if each.__name__ in failed else "holds"
        print(f"{each.__name__} {word}, {time.monotonic() - began:.1f} s", flush=True)
    if failed:
        sys.exit(f"failed: {', '.join(failed)}")


if __name__ == "__main__":
    main()
