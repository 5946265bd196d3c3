"""Every sheet as PDF on Letter and A4, turned to pixels and measured: nothing cut off, the check bars true."""

import base64
import subprocess
from pathlib import Path

import numpy as np

from desk import PICTURES, Browser, Program, check
from journeys import HERON, QUAY

PAPERS = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}
# Dots to the inch: 10 a millimetre for the bars, so that 0.25 mm are 2.5 of them; 4 for the edges of the ink.
FINE, COARSE = 254, 101.6
# What a printer cannot reach: sheets keep 9 mm above and below and 12 mm at the sides (core/src/sheet/style.css).
CLEAR = 8.0
# The working set of the demo's house of 13 openings, on either paper: two an opening, and what the house shares.
MOST_PAGES = 40


def pages_of(pdf, dots, page=None):
    """The pages, or one, as arrays of grey."""
    folder = pdf.with_suffix("")
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.pgm"):
        old.unlink()
    only = [] if page is None else ["-f", str(page), "-l", str(page)]
    subprocess.run(["pdftoppm", "-r", str(dots), *only, "-gray", str(pdf), str(folder / "p")], check=True)
    for path in sorted(folder.glob("*.pgm")):
        raw = path.read_bytes()
        kind, size, most, rest = raw.split(b"\n", 3)
        check(kind == b"P5" and most == b"255", f"{path} is no grey picture")
        wide, high = map(int, size.split())
        yield np.frombuffer(rest, np.uint8, wide * high).reshape(high, wide)
        path.unlink()
    folder.rmdir()


def full_size_pages(pdf):
    """The numbers of the pages that say that they are full size."""
    text = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    return [n for n, page in enumerate(text.split("\f"), 1) if "Full size" in page]


def ink_box(page, dots_mm):
    """Left, top, right, bottom of what is printed, in millimetres from the left and top."""
    dark = page < 200
    columns, rows = np.flatnonzero(dark.any(0)), np.flatnonzero(dark.any(1))
    if not len(columns):
        return None
    return columns[0] / dots_mm, rows[0] / dots_mm, (columns[-1] + 1) / dots_mm, (rows[-1] + 1) / dots_mm


def runs(line):
    """Start and end of each run of ink along a line of pixels; gaps of a pixel are joined."""
    dark = np.flatnonzero(line)
    if not len(dark):
        return []
    breaks = np.flatnonzero(np.diff(dark) > 2)
    starts, ends = np.r_[dark[0], dark[breaks + 1]], np.r_[dark[breaks], dark[-1]]
    return list(zip(starts, ends + 1))


def bars(page, across):
    """Lengths in millimetres of the long straight lines of a page, along one axis."""
    dots_mm = FINE / 25.4
    dark = page < 160
    lines = dark if across else dark.T
    lines = lines[lines.sum(1) > 140 * dots_mm]
    return [(end - start) / dots_mm for line in lines for start, end in runs(line) if end - start > 140 * dots_mm]


def measure_bars(page, what):
    """Both bars, 150 mm and 6 in, in both axes, to 0.25 mm: from the middle of one end stroke to the other's."""
    for across in (True, False):
        lengths = bars(page, across)
        for true, words in ((150.0, "150 mm"), (152.4, "6 in")):
            near = [length for length in lengths if abs(length - true) < 1.1]
            check(near, f"{what}: no bar of {words} {'across' if across else 'up'}: {sorted(set(lengths))[:12]}")
            # The strokes at the ends are 0.18 mm wide and at 45 degrees: half of 0.18 x 1.41 stands out at each end.
            near = [length - 0.18 * 2**0.5 for length in near]
            best = min(near, key=lambda length: abs(length - true))
            check(abs(best - true) <= 0.25, f"{what}: the bar of {words} measures {best:.2f} mm")


def printed(browser, paper):
    wide, high = PAPERS[paper]
    return base64.b64decode(
        browser.devtools(
            "Page.printToPDF",
            paperWidth=wide / 25.4,
            paperHeight=high / 25.4,
            marginTop=0.4,
            marginBottom=0.4,
            marginLeft=0.4,
            marginRight=0.4,
            printBackground=True,
        )["data"]
    )


def look_through(pdf, paper, full_size, what):
    """Measures every page of one PDF; gives how many there are."""
    wide, high = PAPERS[paper]
    count, dots_mm = 0, COARSE / 25.4
    for page in pages_of(pdf, COARSE):
        count += 1
        here = f"{what}, page {count} on {paper}"
        check(abs(page.shape[1] / dots_mm - wide) < 0.6 and abs(page.shape[0] / dots_mm - high) < 0.6, f"{here}: other paper")
        box = ink_box(page, dots_mm)
        check(box, f"{here} is empty")
        left, top, right, bottom = box
        check(
            left >= CLEAR and top >= CLEAR - 1 and right <= wide - CLEAR and bottom <= high - CLEAR + 1,
            f"{here}: ink from {left:.1f}, {top:.1f} to {right:.1f}, {bottom:.1f} mm",
        )
    numbers = full_size_pages(pdf)
    check(bool(numbers) == full_size, f"{what}: the pages with bars are {numbers}")
    for number in numbers:
        for page in pages_of(pdf, FINE, number):
            measure_bars(page, f"{what}, page {number} on {paper}")
    return count


def sheets_on_paper(program):
    """Every sheet that the program writes of the demo's houses, on both papers."""
    with Program(program, [HERON, QUAY]) as desk, Browser() as browser:
        out = desk.folder / "sheets"
        for house in ("Heron", "Quay"):
            desk.run("sheets", "--book", desk.book, house, "--record", "--out", out)
        PICTURES.mkdir(parents=True, exist_ok=True)
        files = sorted(out.rglob("*.html"))
        check(len(files) > 20, f"only {len(files)} sheets were written")
        totals = dict.fromkeys(PAPERS, 0)
        for path in files:
            browser.go(path.as_uri())
            # Wider than its column on screen would be cut, or shrink the whole page, on paper; a row that runs out of its
            # table hides a number.
            wide = browser.driver.execute_script(
                "return [...document.querySelectorAll('.sheet, .sheet table, .sheet li, .sheet p')].filter(s => s.scrollWidth > s.clientWidth + 1)"
                ".map(s => s.tagName + ' ' + s.textContent.slice(0, 60) + ' ' + s.scrollWidth + ' > ' + s.clientWidth)"
            )
            check(not wide, f"{path.name}: {wide}")
            pages = browser.driver.execute_script("return document.querySelectorAll('.sheet').length")
            full_size = browser.driver.execute_script(
                "return [...document.querySelectorAll('.sheet .block dd')].some(d => d.textContent === 'Full size')"
            )
            counts = {}
            for paper in PAPERS:
                name = f"{path.parent.name}-{path.stem}-{paper}"
                pdf = PICTURES / f"{name}.pdf"
                pdf.write_bytes(printed(browser, paper))
                counts[paper] = look_through(pdf, paper, full_size, path.name)
                # Each page was counted where the sheet was made: none runs over, none is left empty.
                check(counts[paper] == pages, f"{path.name}: {counts[paper]} pages on {paper}, {pages} were counted")
                if path.parent.name.startswith("heron") and not path.stem.endswith("-record"):
                    totals[paper] += counts[paper]
            print(f"  {path.parent.name}/{path.name}: {counts}", flush=True)
            if path.stem[:2].isdigit() and not path.stem.endswith("-record"):
                check(pages <= 3, f"{path.name} takes {pages} pages for one opening")
        print(f"  the working set: {totals}", flush=True)
        check(max(totals.values()) <= MOST_PAGES, f"the working set takes {totals} pages, expected {MOST_PAGES} at most")
