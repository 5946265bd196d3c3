"""Every page of the demo's houses: pictures at every width and in both schemes, accessibility by axe, HTML by a validator."""

import json
import subprocess

from desk import DESK, PHONE, PICTURES, ROOT, WIDE, Browser, By, Keys, Program, check
from journeys import HERON, QUAY

TOOLS = ROOT / "target" / "page-tools" / "node_modules"
# The least width that nothing is wider than.
NARROW = 320
SHEETS = ["summary", "buying", "cutting", "making", "hanging", "full-size", "kit", "care", "measuring", "working"]


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
        "prices": house + "/prices",
        "days": house + "/days",
        "bench": desk.address + "/bench",
        "money": desk.address + "/money",
        "mistakes": desk.address + "/mistakes",
        "trade": desk.address + "/trade",
        "workroom": desk.address + "/workroom",
        "check": desk.address + "/check",
        "find": desk.address + "/find?q=study",
        "find-nothing": desk.address + "/find?q=observatory",
        "keys": desk.address + "/keys",
        "help-measuring": desk.address + "/help/measuring",
        "help-words": desk.address + "/help/words",
        "help-formats": desk.address + "/help/formats",
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
    browser.type("[name='first/height_left']", "1").send_keys(Keys.TAB)
    browser.sees("25.4 mm")
    browser.go(desk.address)
    browser.click("a", "Quay flat, third floor")
    browser.sees("openings read")
    pages["house-mm"] = house = browser.driver.current_url
    # Of the smaller house: a page of its sheets has every kind of thing once, and axe is done with it in seconds.
    pages |= {f"sheet-{name}": f"{house}/sheets/{name}" for name in SHEETS}
    pages["labels"] = f"{house}/sheets/labels?old=0000+0000+0000"
    return pages


# What holds of every page: one solid button, fingers find every control, no length is broken, and every fraction key of
# the pad meets its own line of the tape.
LOOK = """
const bad = [];
const seen = (el) => el.checkVisibility() && el.getClientRects().length > 0;
const name = (el) => el.outerHTML.slice(0, 120);
const solid = [...document.querySelectorAll('main .main')].filter(seen);
if (solid.length > 1) bad.push(`${solid.length} solid buttons: ${solid.map(name)}`);
for (const el of document.querySelectorAll('button, summary, a.as-button, nav.leaves a, input:not([type=hidden], [type=checkbox])')) {
  const { width, height } = el.getBoundingClientRect();
  // Eight keys are an inch across: on glass narrower than a phone's of today they are an eighth of it each.
  const least = el.closest('.inch') && innerWidth < 360 ? 36 : 43.9;
  if (seen(el) && (width < least || height < 43.9)) bad.push(`${width} by ${height}: ${name(el)}`);
}
for (const el of document.querySelectorAll('main .length, main .nb')) {
  if (seen(el) && el.getClientRects().length > 1) bad.push(`broken: ${name(el)}`);
}
const tape = document.querySelector('.tape-inch')?.getBoundingClientRect();
for (const key of document.querySelectorAll('.inch button')) {
  const n = Number(key.dataset.id.split('_')[1]);
  const { left, width } = key.getBoundingClientRect();
  const off = left + width / 2 - (tape.left + (n / 16) * tape.width);
  if (Math.abs(off) > 0.75) bad.push(`the key of ${n}/16 stands ${off} px from its line`);
}
return bad;
"""


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
                    if width == DESK and dark:
                        continue
                    browser.look(width, dark)
                    here = f"{name}-{width}{'-dark' if dark else ''}"
                    # A sheet is light everywhere.
                    if not (name.startswith("sheet-") and dark):
                        browser.picture(here)
                    browser.fits(here)
                    found += [f"{here}: {complaint}" for complaint in browser.driver.execute_script(LOOK)]
                    if width != DESK:
                        found += [f"{here}: {complaint}" for complaint in axe_complaints(browser)]
            # The narrowest glass.
            browser.look(NARROW)
            browser.fits(f"{name}-{NARROW}")
            found += [f"{name}-{NARROW}: {complaint}" for complaint in browser.driver.execute_script(LOOK)]
        found += [f"console: {line}" for line in browser.complaints() if "404" not in line]
    check(not found, "\n".join(found))


def bright_light(program):
    """The colours for bright light: one touch in the walk, on every page of the house then, and back by another."""
    with Program(program, [HERON]) as desk, Browser(PHONE) as browser:
        light = lambda: browser.driver.execute_script("return document.documentElement.dataset.light || ''")
        browser.go(desk.address)
        browser.click("a", "Heron Lane, number nine")
        house = browser.driver.current_url
        browser.click("a", "Dormer")
        browser.click("button", "Read again")
        browser.sees("Type it, as on paper")
        check(light() == "", "the walk begins in bright light")
        browser.click("button", "Outdoors")
        browser.until(lambda: light() == "outdoors", "the colours for bright light")
        for name, address in (("walk", f"{house}/walk"), ("house", house), ("settings", f"{house}/settings")):
            browser.go(address)
            browser.find("h1")
            check(light() == "outdoors", f"{name} is not in bright light")
            browser.picture(f"{name}-outdoors")
            found = axe_complaints(browser)
            check(not found, f"{name}: {found}")
        browser.go(f"{house}/walk")
        browser.click("button", "Indoors")
        browser.until(lambda: light() == "", "the colours for a room")


# Where every part of each sheet stands, and how it is drawn.
PARTS = """
return [...document.querySelectorAll('.sheet')].flatMap((sheet) => [...sheet.querySelectorAll('*')].filter((part) => part.getClientRects().length > 0).map((part) => {
  const at = part.getBoundingClientRect(), from = sheet.getBoundingClientRect(), look = getComputedStyle(part);
  const drawn = [part.tagName, part.className.baseVal ?? part.className, look.color, look.backgroundColor, look.fontSize, look.fontWeight,
    look.letterSpacing, look.textDecorationLine, look.borderTopWidth, look.stroke, look.fill];
  return [drawn.join(' '), [at.left - from.left, at.top - from.top, at.width, at.height]];
}));
"""


def sheets_look_as_in_their_files(program):
    """The page's own style reaches no part of a sheet, in either scheme."""
    with Program(program, [QUAY]) as desk, Browser() as browser:
        desk.run("sheets", "--book", desk.book, "Quay", "--record", "--out", desk.folder / "sheets")
        browser.go(desk.address)
        browser.click("a", "Quay flat, third floor")
        browser.sees("openings read")
        house = browser.driver.current_url
        paths = sorted((desk.folder / "sheets").rglob("*.html"))
        for dark in (False, True):
            browser.look(DESK, dark)
            seen, parts = {}, 0
            for name in SHEETS:
                browser.go(f"{house}/sheets/{name}")
                browser.find(".sheet")
                for drawn, place in browser.driver.execute_script(PARTS):
                    seen.setdefault(drawn, []).append(place)
            # A file has the sheets of one opening, or one of the house's: each part of them is on a page, too.
            for path in paths:
                browser.go(path.as_uri())
                for drawn, place in browser.driver.execute_script(PARTS):
                    parts += 1
                    same = any(max(abs(a - b) for a, b in zip(place, other)) < 0.3 for other in seen.get(drawn, []))
                    check(same, f"{path.name}{', dark' if dark else ''}: no page has {drawn} at {place}")
            check(parts > 1000, f"only {parts} parts were compared")


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
