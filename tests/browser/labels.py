"""Labels printed by Chromium: where they are on the paper, what stands in them, and what a general decoder reads from them."""

import base64
import re
import subprocess
from urllib.parse import parse_qs

import numpy as np
import zxingcpp

from desk import PICTURES, Browser, Program, check
from journeys import HERON, QUAY
from paper import FINE, pages_of

MM = 25.4
# The usual sheets by their measures alone (from memory, no source), in millimetres and not out of the program: paper,
# columns, rows, width, height, gap between columns, left and top margin.
SHEETS = {
    "letter-3x10": (215.9, 279.4, 3, 10, 2.625 * MM, MM, MM / 8, MM * 3 / 16, MM / 2),
    "letter-2x10": (215.9, 279.4, 2, 10, 4 * MM, MM, MM * 3 / 16, MM * 5 / 32, MM / 2),
    "letter-2x5": (215.9, 279.4, 2, 5, 4 * MM, 2 * MM, MM * 3 / 16, MM * 5 / 32, MM / 2),
    "a4-3x8": (210, 297, 3, 8, 70, 37, 0, 0, 0.5),
    "a4-3x7": (210, 297, 3, 7, 63.5, 38.1, 2.5, 7.25, 15.15),
    "a4-2x7": (210, 297, 2, 7, 99.1, 38.1, 2.5, 4.65, 15.15),
    "a4-2x4": (210, 297, 2, 4, 99.1, 67.7, 2.5, 4.65, 13.1),
}
# How far a label may be from its place, millimetres.
TRUE = 0.3
# Every text of a label is within its label; none runs into the code or the next label.
INSIDE = """
const bad = [];
for (const svg of document.querySelectorAll('svg.labels')) {
  const labels = [...svg.querySelectorAll('.outline')].map(el => el.getBBox());
  const codes = [...svg.querySelectorAll('.code')].map(el => el.getBoundingClientRect());
  for (const text of svg.querySelectorAll('text')) {
    const { x, y, width, height } = text.getBBox();
    const holds = labels.some(l => x >= l.x + 0.5 && y >= l.y && x + width <= l.x + l.width - 0.5 && y + height <= l.y + l.height + 0.3);
    const box = text.getBoundingClientRect();
    const meets = codes.some(c => box.left < c.right && box.right > c.left && box.top < c.bottom && box.bottom > c.top);
    if (!holds || meets) bad.push(`${text.textContent}: ${[x, y, width, height].map(n => n.toFixed(1))}${meets ? ' over a code' : ''}`);
  }
}
return bad;
"""


def printed(browser):
    """As a browser prints at 100 % on the paper that the page itself asks for."""
    words = {"preferCSSPageSize": True, "printBackground": True}
    return base64.b64decode(browser.devtools("Page.printToPDF", **words)["data"])


def edges(page, across):
    """Places in millimetres of the straight lines of outlines, along one axis."""
    dark = page < 140
    # A line of outlines covers more of its row or column than letters do.
    counts = dark.sum(0 if across else 1)
    found = np.flatnonzero(counts > 20 * FINE / MM * 0.9)
    groups = np.split(found, np.flatnonzero(np.diff(found) > 1) + 1)
    return [(group[0] + group[-1] + 1) / 2 / (FINE / MM) for group in groups if len(group)]


def near(places, wanted, what):
    for place in wanted:
        best = min(places, key=lambda there: abs(there - place), default=-99)
        check(abs(best - place) <= TRUE, f"{what}: {place:.2f} mm asked, {best:.2f} mm printed")


def labels_of(desk, house, *words):
    out = desk.run("labels", house, "--book", desk.book, "--out", desk.folder / "labels", *words)
    path, said = out.splitlines()[:2]
    return path, int(re.match(r"(\d+) labels", said).group(1))


def codes_of(page):
    """What is read in a page, with the middle of each code in millimetres."""
    found = []
    for code in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode):
        corners = [getattr(code.position, name) for name in ("top_left", "top_right", "bottom_right", "bottom_left")]
        x, y = (sum(getattr(each, axis) for each in corners) / 4 / (FINE / MM) for axis in "xy")
        found.append((code.text, x, y))
    return found


def labels_on_paper(program):
    """Every usual sheet: labels within 0.3 mm of their places, from any position and moved; each code read back once."""
    with Program(program, [HERON, QUAY]) as desk, Browser() as browser:
        PICTURES.mkdir(parents=True, exist_ok=True)
        for code, sheet in SHEETS.items():
            paper_wide, paper_high, columns, rows, wide, high, gap, left, top = sheet
            for first, across, down in ((1, 0.0, 0.0), (columns + 2, 1.0, -0.4)):
                words = ("--sheet", code, "--first", first, "--across", f"{across} mm", "--down", f"{down} mm", "--outlined")
                path, count = labels_of(desk, "Heron", *words)
                browser.go("file://" + path)
                bad = browser.driver.execute_script(INSIDE)
                check(not bad, f"{code}: {bad}")
                pdf = PICTURES / f"labels-{code}-{first}.pdf"
                pdf.write_bytes(printed(browser))
                pages = list(pages_of(pdf, FINE))
                check(len(pages) == -(-(first - 1 + count) // (columns * rows)), f"{code}: {len(pages)} pages for {count} labels")
                read = []
                for n, page in enumerate(pages):
                    size = page.shape[1] / (FINE / MM), page.shape[0] / (FINE / MM)
                    check(abs(size[0] - paper_wide) < 0.4 and abs(size[1] - paper_high) < 0.4, f"{code}: paper of {size}")
                    begin = first - 1 if n == 0 else 0
                    end = min(columns * rows, first - 1 + count - n * columns * rows)
                    on = range(begin, end)
                    xs = {left + across + at % columns * (wide + gap) for at in on}
                    ys = {top + down + at // columns * high for at in on}
                    here = f"{code}, first {first}, page {n + 1}"
                    near(edges(page, True), [x for x in xs if x > 0.5] + [x + wide for x in xs if x + wide < paper_wide - 0.5], f"{here}, across")
                    near(edges(page, False), [y for y in ys if y > 0.5] + [y + high for y in ys if y + high < paper_high - 0.5], f"{here}, down")
                    codes = codes_of(page)
                    check(len(codes) == len(on), f"{here}: {len(codes)} codes read of {len(on)}")
                    for text, x, y in codes:
                        # Each in a label of its own.
                        column, row = (x - left - across) // (wide + gap), (y - top - down) // high
                        check(int(row) * columns + int(column) in on, f"{here}: a code at {x:.1f}, {y:.1f}")
                        read.append(text)
                check(len(read) == count, f"{code}: {len(read)} codes of {count}")
            print(f"  {code}: {count} labels, {len(pages)} pages", flush=True)
        # What a code says is an address with the house and an opening of it.
        house = re.search(r"Heron.*?([0-9a-f-]{36})", desk.run("houses", "--book", desk.book))
        for text in set(read):
            scheme, fields = text.split("?")
            fields = parse_qs(fields)
            check(scheme == "hangtrue-label:1" and set(fields) == {"house", "opening", "sizes"}, text)
            check(all(len(fields[name][0]) == 32 for name in ("house", "opening")) and len(fields["sizes"][0]) == 12, text)
            if house:
                check(fields["house"][0] == house.group(1).replace("-", ""), text)
        judged = desk.run("labels", "Heron", "--book", desk.book, *(word for text in sorted(set(read)) for word in ("--old", text)))
        check(judged.count("Good: ") == len(set(read)), judged)
        subprocess.run(["pdftoppm", "-r", "90", "-png", "-f", "1", "-l", "1", str(PICTURES / "labels-letter-3x10-1.pdf"), str(PICTURES / "labels-letter")], check=True)
        subprocess.run(["pdftoppm", "-r", "90", "-png", "-f", "1", "-l", "1", str(PICTURES / "labels-a4-3x8-1.pdf"), str(PICTURES / "labels-a4")], check=True)


def labels_on_the_page(program):
    """From the house's page to labels that begin at any position; a code read from the page's print; old ones judged."""
    with Program(program, [HERON, QUAY]) as desk, Browser() as browser:
        browser.go(desk.address)
        browser.click("a", "Heron Lane, number nine")
        browser.sees("openings read")
        browser.click("a", "Labels")
        browser.sees("Sheet of labels")
        at = browser.driver.current_url
        check(at.endswith("/sheets/labels"), at)
        browser.go(f"{at}?sheet=a4-3x8&first=5&outlined=yes&across=0&down=0")
        pdf = PICTURES / "labels-page.pdf"
        pdf.write_bytes(printed(browser))
        pages = list(pages_of(pdf, FINE))
        shown = len(browser.driver.find_elements("css selector", "svg.labels"))
        check(len(pages) == shown, f"{len(pages)} pages printed, {shown} shown")
        codes = codes_of(pages[0])
        check(len(codes) == 20, f"{len(codes)} codes on the first sheet from position 5 of 24")
        near(edges(pages[0], False), [0.5 + 37 * n for n in range(1, 9)], "the page's print")
        number = browser.driver.find_element("css selector", "svg.labels .number").text
        browser.go(f"{at}?old={number}%0A0000+0000+0000")
        browser.sees("Good: ")
        browser.sees("Void: ")
        browser.go(f"{at}?first=99")
        browser.sees("begin at 1 to 30")
        browser.go(f"{at}?sheet=letter-9x9")
        browser.sees("There is no sheet of labels")
