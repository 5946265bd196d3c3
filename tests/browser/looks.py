"""Every page of the demo's houses: pictures at every width and in both schemes, accessibility by axe, HTML by a validator."""

import json
import subprocess

from desk import DESK, PHONE, PICTURES, ROOT, WIDE, Browser, By, Keys, Program, check
from journeys import HERON, QUAY

TOOLS = ROOT / "target" / "page-tools" / "node_modules"
SHEETS = ["summary", "buying", "cutting", "making", "hanging", "full-size", "care", "measuring", "working"]


def pages_of(desk, browser):
    """Every kind of page, by a name for its pictures."""
    browser.go(desk.address)
    browser.click("a", "Heron Lane, number nine")
    house = browser.driver.current_url
    browser.sees("openings read")
    links = browser.driver.find_elements(By.CSS_SELECTOR, "article.opening h3 a")
    openings = {link.text: link.get_attribute("href") for link in links}
    pages = {
        "houses": desk.address + "/",
        "houses-none-found": desk.address + "/?find=nothing+of+that+name",
        "house": house,
        "opening-east": openings["East"],
        "opening-bay": openings["Bay centre"],
        "opening-range": openings["Left of the range"],
        "leaving": house + "/leaving",
        "settings": house + "/settings",
        "workroom": desk.address + "/workroom",
        "check": desk.address + "/check",
        "not-there": desk.address + "/nowhere",
    }
    # The walk is wherever a person is in it: the place in doubt.
    browser.go(openings["East"])
    browser.click("button", "Read again")
    browser.sees("Type it, as on paper")
    pages["walk"] = browser.driver.current_url
    # A paper note with a field that cannot be read and one that does not fit.
    pages["note"] = openings["Bay centre"] + "/note"
    browser.go(pages["note"])
    browser.type("[name='first/width_top']", "34 3/7").send_keys(Keys.TAB)
    browser.sees("3/7 is not on a tape")
    browser.type("[name='first/width_middle']", "1").send_keys(Keys.TAB)
    browser.sees("25.4 mm")
    browser.go(desk.address)
    browser.click("a", "Quay flat, third floor")
    browser.sees("openings read")
    pages["house-mm"] = house = browser.driver.current_url
    # Of the smaller house: a page of its sheets has every kind of thing once, and axe is done with it in seconds.
    pages |= {f"sheet-{name}": f"{house}/sheets/{name}" for name in SHEETS}
    return pages


def axe_complaints(browser):
    """What axe finds against WCAG 2.2 A and AA, and its own best practices."""
    browser.driver.execute_script((TOOLS / "axe-core" / "axe.min.js").read_text(encoding="utf-8"))
    found = browser.driver.execute_async_script(
        "const done = arguments[0];"
        "axe.run(document, { resultTypes: ['violations'] })"
        ".then((r) => done(r.violations.map((v) => v.id + ': ' + v.help + ' | ' + v.nodes.slice(0, 4)"
        ".map((n) => n.html.slice(0, 160) + ' ' + (n.any[0]?.message || '')).join(' | '))))"
        ".catch((e) => done(['axe failed: ' + e]));"
    )
    return found


def everything_is_seen(program):
    """Both schemes, three widths: a picture of each page, no page wider than its window, no finding of axe."""
    found = []
    with Program(program, [HERON, QUAY]) as desk, Browser() as browser:
        browser.driver.set_script_timeout(120)
        pages = pages_of(desk, browser)
        for name, address in pages.items():
            browser.go(address)
            browser.find("h1")
            for width in (PHONE, DESK, WIDE):
                for dark in (False, True):
                    if (width == DESK and dark) or (width == WIDE and not dark):
                        continue
                    browser.look(width, dark)
                    here = f"{name}-{width}{'-dark' if dark else ''}"
                    # A sheet is light everywhere.
                    if not (name.startswith("sheet-") and dark):
                        browser.picture(here)
                    browser.fits(here)
                    # Light on a phone, dark on a wide desk: each width and each scheme once.
                    if (width, dark) in ((PHONE, False), (WIDE, True)):
                        found += [f"{here}: {complaint}" for complaint in axe_complaints(browser)]
        found += [f"console: {line}" for line in browser.complaints() if "404" not in line]
    check(not found, "\n".join(found))


def html_is_valid(program):
    """The Nu HTML checker on every page and on every file of sheets: no error."""
    kept = ROOT / "target" / "pictures" / "html"
    kept.mkdir(parents=True, exist_ok=True)
    for old in kept.glob("*.html"):
        old.unlink()
    with Program(program, [HERON, QUAY]) as desk, Browser() as browser:
        for name, address in pages_of(desk, browser).items():
            text = desk.asked("GET", address.removeprefix(desk.address))[2]
            (kept / f"{name}.html").write_bytes(text)
        (kept / "door.html").write_bytes(desk.door.read_bytes())
        for house in ("Heron", "Quay"):
            desk.run("sheets", "--book", desk.book, house, "--out", desk.folder / "sheets")
        for path in sorted((desk.folder / "sheets").rglob("*.html")):
            (kept / f"file-{path.parent.name}-{path.name}").write_bytes(path.read_bytes())
    jar = TOOLS / "vnu-jar" / "build" / "dist" / "vnu.jar"
    done = subprocess.run(
        ["java", "-jar", str(jar), "--errors-only", "--format", "json", *map(str, sorted(kept.glob("*.html")))],
        capture_output=True,
        text=True,
        check=False,
    )
    messages = json.loads(done.stderr or '{"messages": []}')["messages"]
    said = {f"{m.get('url', '').rsplit('/', 1)[-1]}:{m.get('lastLine')}: {m['message']}" for m in messages}
    check(done.returncode == 0 and not said, "\n".join(sorted(said)[:60]) or done.stdout)
