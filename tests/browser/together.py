"""What a desk does with others and for itself: two browsers at one house, files dropped, search, keys, backup, help."""

import base64
import json
import re
import subprocess
import time
import zlib

from desk import DESK, Browser, By, Keys, Program, check
from journeys import HERON, QUAY, typed
from looks import pages_of

# What another does appears within this, in seconds: from when it is on the disk to when it is seen.
SOON = 1.0
# Dropped as a person does it: files of these names and texts, on the page.
DROP = """
const [files] = arguments;
const data = new DataTransfer();
for (const [name, type, bytes] of files) data.items.add(new File([Uint8Array.from(atob(bytes), (c) => c.charCodeAt(0))], name, { type }));
for (const kind of ['dragover', 'drop']) document.querySelector('main').dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer: data }));
"""


def drop(browser, files):
    browser.driver.execute_script(DROP, [[name, kind, base64.b64encode(data).decode()] for name, kind, data in files])


def png(shade):
    """A picture of one dot."""

    def chunk(kind, data):
        body = kind + data
        return len(data).to_bytes(4, "big") + body + zlib.crc32(body).to_bytes(4, "big")

    head = chunk(b"IHDR", b"\0\0\0\1\0\0\0\1\x08\0\0\0\0")
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes([0, shade]))) + chunk(b"IEND", b"")


def appears(browser, words, since):
    """Seconds until the words are seen, from `since`."""
    end = time.monotonic() + 20
    while time.monotonic() < end:
        try:
            if words in browser.text():
                return time.monotonic() - since
        except Exception:  # the page is being swapped
            pass
        time.sleep(0.02)
    check(False, f"never came: {words!r}")


def at_house(browser, desk):
    browser.go(desk.address)
    browser.click("a", "Heron Lane, number nine")
    browser.sees("openings read")
    return browser.driver.current_url


def caret(browser):
    return browser.driver.execute_script(
        "const el = document.activeElement; return [el.dataset.id || el.name, el.value, el.selectionStart, el.selectionEnd]"
    )


def two_desks(program):
    """Two browsers and a phone at one house: each sees the other within a second, and loses nothing that it is typing."""
    hub = ["--hub", "hub", "--hub-listen", "127.0.0.1:0"]
    took = {}
    with Program(program, [HERON], more=hub) as desk, Browser(DESK) as one, Browser(DESK) as other:
        house = at_house(one, desk)
        at_house(other, desk)
        job = json.loads(desk.run("export", "--book", desk.book, "heron"))
        openings = {f"{room['name']}, {opening['name']}": opening["id"] for room in job["rooms"] for opening in room["openings"]}
        dormer = next(id for name, id in openings.items() if name.endswith("Dormer"))
        # One types a remark into the house; the other adds a room. The remark, its caret and its focus stay.
        one.type("[data-id=words_room]", "Sun room by the gar")
        one.keys(Keys.LEFT, Keys.LEFT, Keys.LEFT)
        before = caret(one)
        other.type("[data-id=words_room]", "Boot room")
        other.keys(Keys.ENTER)
        other.sees("Boot room")
        took["a room, by another browser"] = appears(one, "Boot room", time.monotonic())
        check(caret(one) == before, f"what was typed was {before} and is {caret(one)}")
        one.keys(Keys.END, "den", Keys.ENTER)
        one.sees("Sun room by the garden")
        appears(other, "Sun room by the garden", time.monotonic())

        # One is in the walk, half way through a reading, when the workroom asks for another place there.
        one.go(f"{house}/opening/{dormer}")
        one.click("button", "Read again")
        one.sees("Type it, as on paper")
        place = one.find("h1").text
        check(place != "Bottom width", "the journey wants another place first")
        asked = one.find(".pad [data-id=reading]").get_attribute("data-place")
        one.type(".pad [data-id=reading]", "17 7")
        other.go(f"{house}/opening/{dormer}")
        other.type("[name=why]", "the cloth is dear")
        other.click("input[value=width_bottom]")
        other.click("button", "Ask")
        other.sees("the cloth is dear")
        time.sleep(SOON + 0.5)
        check(one.find("h1").text == place, f"the walk went to {one.find('h1').text} under the hand")
        check(caret(one)[:2] == ["reading", "17 7"], f"{caret(one)} is typed")
        one.keys("/8", Keys.ENTER)
        one.sees("17 7/8 in, kept.")
        rooms = json.loads(desk.run("export", "--book", desk.book, "heron"))["rooms"]
        kept = [reading for room in rooms for opening in room.get("openings", []) if opening["id"] == dormer for reading in opening["readings"]]
        there = f"{dormer}/{kept[-1]['place']}" == asked
        check(there and kept[-1]["read"] == "17 7/8", f"typed for {place}, kept is {kept[-1]}")
        # The other's pad is its own.
        other.go(f"{house}/opening/{openings['Study, East']}")
        other.click("button", "Read again")
        other.sees("Type it, as on paper")
        there = one.find("h1").text
        other.click("[data-id=digit_3]")
        other.until(lambda: other.find(".typed").text.startswith("3"), "the digit on the other's pad")
        one.go(f"{house}/walk")
        check(one.find("h1").text == there and not one.find(".typed").text.strip().startswith("3"), "one pad is both desks'")

        # A note at one opening, typed by both: each keeps its own.
        bay = next(id for name, id in openings.items() if name.endswith("Bay centre"))
        for browser, words in ((one, "34 1/2"), (other, "34 3/4")):
            browser.go(f"{house}/opening/{bay}/note")
            browser.type("[name='first/width_top']", words).send_keys(Keys.TAB)
            browser.until(lambda: browser.find("#note-count").text == "1 reading", "the reading counted")
        one.type("[name='first/trim_width']", "34 1")
        desk.run("ask", "--book", desk.book, "heron", "bay centre", "--why", "from the bench")
        time.sleep(SOON + 0.5)
        check(one.find("[name='first/width_top']").get_attribute("value") == "34 1/2", "the note is another's")
        check(caret(one)[:3] == ["first/trim_width", "34 1", 4], f"{caret(one)} is typed")
        one.picture("two-desks-note")

        # From another program on this computer, and from a phone through the hub.
        one.go(house)
        one.sees("openings read")
        one.type("[data-id=words_room]", "half a na")
        desk.run("ask", "--book", desk.book, "heron", "study, north", "--why", "is it a listed one?")
        took["a request, by another program"] = appears(one, "is it a listed one?", time.monotonic())
        other.go(desk.address + "/workroom")
        other.click("[data-id=invite]")
        code, address = other.find("[data-id=pair_code]").text, other.find("[data-id=pair_address]").text
        phone = desk.folder / "phone.book"
        words = [desk.program, "pair", "--book", str(phone), "--name", "Ida's phone", address, code]
        joining = subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
        digits = joining.stdout.readline().strip().rsplit(" ", 1)[1]
        other.sees("asks to be paired")
        other.type("[data-id=digits_six]", digits)
        other.click("button", "Pair it")
        other.sees("is paired.")
        check(joining.wait(30) == 0, "the phone was not paired")
        desk.run("sync", "--book", phone)
        desk.run("ask", "--book", phone, "heron", "study, east", "--why", "seen from the phone")
        desk.run("sync", "--book", phone)
        took["from a phone, through the hub"] = appears(one, "seen from the phone", time.monotonic())
        check(caret(one)[:2] == ["words_room", "half a na"], f"{caret(one)} is typed")
        one.picture("two-desks-house")

        # What one is typing for is taken out by the other: the words stay.
        one.go(f"{house}/opening/{dormer}")
        one.type("[name=why]", "the left reveal is out")
        other.go(house)
        other.sees("openings read")
        other.driver.execute_script("for (const el of document.querySelectorAll('details')) el.open = true")
        other.click(f"[data-id='remove_{dormer}']")
        other.sees("Dormer is taken out.")
        appears(one, "What you were typing", time.monotonic())
        left = one.find("[name=left_over]").get_attribute("value")
        check(left == "the left reveal is out", f"{left!r} is left of it")
        one.picture("two-desks-taken-out")
        said = [line for browser in (one, other) for line in browser.complaints() if "404" not in line]
        check(not said, f"the browser complains: {said}")
    print("  seen after: " + ", ".join(f"{what} {1000 * seconds:.0f} ms" for what, seconds in took.items()), flush=True)
    late = {what: seconds for what, seconds in took.items() if seconds > SOON}
    check(not late, f"later than a second: {late}")


def other_house(n):
    """Heron Lane with ids of its own and another name."""
    text = HERON.read_text(encoding="utf-8")
    for at, old in enumerate(sorted(set(re.findall(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}", text)))):
        text = text.replace(old, f"{old[:8]}-{old[9:13]}-7{at:03x}-8000-{n:03x}{old[-9:]}")
    return text.replace('"Heron Lane, number nine"', f'"Alder Row {n}"', 1)


def files_handed_over(program):
    """Job files and photos, dropped and picked, with scripts and without: each has its result, what is refused keeps its text."""
    broken = other_house(9).replace('"35 7/8"', '"35 7/9"', 1)
    check("35 7/9" in broken, "nothing is broken")
    with Program(program, [HERON]) as desk, Browser(DESK) as browser:
        browser.go(desk.address)
        browser.sees("Heron Lane")
        files = [(f"{n}.json", "application/json", other_house(n).encode()) for n in (1, 2, 3)]
        drop(browser, [*files, ("broken.json", "application/json", broken.encode()), ("photo.png", "image/png", png(9))])
        browser.sees("3 of 5 taken in.")
        rows = [row.text for row in browser.driver.find_elements(By.CSS_SELECTOR, "#handed li")]
        check(len(rows) == 5 and "Alder Row 1" in rows[0] and "new entries" in rows[2], f"{rows}")
        check("Line " in rows[3] and "7/9" in rows[3] and "It is no text." in rows[4], f"{rows}")
        browser.sees("Alder Row 3")
        browser.picture("files-handed-over")
        # The refused text is there to be put right, and is taken in then.
        browser.driver.execute_script("const area = document.querySelector('#handed textarea'); area.value = area.value.replace('35 7/9', '35 7/8');")
        browser.click("#handed .refused button[type=submit]")
        browser.sees("openings read")
        check(browser.find("h1").text == "Alder Row 9", browser.find("h1").text)
        # Photos dropped on an opening; one file that is none.
        at_house(browser, desk)
        browser.click("a", "Dormer")
        browser.sees("Remarks and photos")
        drop(browser, [("left.png", "image/png", png(10)), ("right.png", "image/png", png(200)), ("notes.txt", "text/plain", b"no picture")])
        browser.sees("2 of 3 taken in.")
        browser.sees("This is no photo.")
        browser.until(lambda: len(browser.driver.find_elements(By.CSS_SELECTOR, ".photos img")) == 2, "both photos")
        browser.picture("photos-dropped")
        # A file that misses does not take the place of the page.
        browser.go(desk.address + "/keys")
        drop(browser, [("left.png", "image/png", png(10))])
        check(browser.find("h1").text == "Keys", "the page is gone")
        said = [line for line in browser.complaints() if "422" not in line and "415" not in line]
        check(not said, f"the browser complains: {said}")
        # A pasted text that is refused stays where it was typed.
        browser.go(desk.address)
        browser.click("summary", "Take in job files")
        browser.type("[data-id=job_text]", '{"a":1}')
        browser.click("[data-id=take_in]")
        browser.sees("hangtrue_job")
        check(browser.find("textarea").get_attribute("value") == '{"a":1}', "the text is gone")
    with Program(program) as desk, Browser(DESK, scripts=False) as browser:
        for name, text in (("one.json", other_house(1)), ("two.json", other_house(2)), ("broken.json", broken)):
            (desk.folder / name).write_text(text, encoding="utf-8")
        (desk.folder / "dot.png").write_bytes(png(70))
        (desk.folder / "dash.png").write_bytes(png(90))
        browser.go(desk.address)
        browser.click("summary", "Take in job files")
        browser.find("[data-id=job_files]").send_keys("\n".join(str(desk.folder / name) for name in ("one.json", "two.json", "broken.json")))
        browser.click("[data-id=take_in]")
        browser.sees("2 of 3 taken in.")
        area = browser.find("#results textarea")
        check(area.get_attribute("value").replace("\r\n", "\n").strip() == broken.strip(), "the text is not as it was")
        browser.picture("files-without-scripts")
        browser.click("a", "Alder Row 2: " + re.search(r"Alder Row 2: (\d+ new entries\.)", browser.text()).group(1))
        browser.sees("openings read")
        browser.click("a", "Dormer")
        browser.click("summary", "Add photos")
        browser.find("[data-id=photos]").send_keys("\n".join(str(desk.folder / name) for name in ("dot.png", "dash.png")))
        browser.click("button", "Add")
        browser.until(lambda: len(browser.driver.find_elements(By.CSS_SELECTOR, ".photos img")) == 2, "both photos")


def found_and_keys(program):
    """From any page a slash leads to the search over everything; letters press what says so, and can be turned off."""
    with Program(program, [HERON, QUAY]) as desk, Browser(DESK) as browser:
        house = at_house(browser, desk)
        heading = lambda words: browser.until(lambda: browser.find("h1").text == words, f"the page {words}")
        for page in (house, f"{house}/settings", f"{house}/sheets/making", desk.address + "/check", desk.address + "/help/words"):
            browser.go(page)
            browser.find("h1, .sheet")
            browser.keys("/")
            heading("Find")
            check(browser.focused().get_attribute("data-id") == "find", "the field has no focus")
        # A slash in a field is a slash.
        browser.keys("7/8")
        check(browser.focused().get_attribute("value") == "7/8", browser.focused().get_attribute("value"))
        for words, kind, name in (("study east", "Openings", "Study, East"), ("quay", "Houses", "Quay flat, third floor"), ("study", "Rooms", "Study")):
            browser.go(desk.address + "/find")
            browser.keys(words, Keys.ENTER)
            browser.until(lambda: kind in browser.text(), kind)
            browser.find("ul.found a", name)
        browser.picture("found")
        cloth = json.loads(desk.run("export", "--book", desk.book, "heron"))["cloths"][0]["name"]
        browser.go(desk.address + "/find")
        browser.keys(cloth, Keys.ENTER)
        browser.sees("Cloths")
        browser.find("ul.found a", cloth)
        browser.go(desk.address + "/find?q=study+east")
        browser.click("ul.found a", "Study, East")
        browser.sees("Every way of mounting")
        # Up, next, from opening to opening, undo.
        names = [link.text for link in browser.driver.find_elements(By.CSS_SELECTOR, ".beside-house a")]
        here = names.index("East")
        browser.keys("j")
        heading(names[here + 1])
        browser.keys("k")
        heading("East")
        browser.keys("u")
        heading("Heron Lane, number nine")
        browser.keys("n")
        browser.until(lambda: "/opening/" in browser.driver.current_url or browser.driver.current_url.endswith("/walk"), "the next step")
        browser.go(house)
        browser.find("h1")
        browser.keys("l")
        heading("Before you leave")
        browser.keys("h")
        heading("Houses")
        browser.keys("?")
        heading("Keys")
        browser.picture("keys")
        listed = [row.text for row in browser.driver.find_elements(By.CSS_SELECTOR, "kbd")]
        check({"/", "?", "n", "u", "z"} <= set(listed), f"{listed}")
        browser.click("[data-id=keys]")
        browser.sees("They are turned off in this browser.")
        browser.keys("h")
        time.sleep(0.3)
        check(browser.find("h1").text == "Keys", "a letter that is turned off pressed something")
        browser.click("[data-id=keys]")
        browser.until(lambda: "turned off in" not in browser.text(), "the letters back on")
        # Undo by its key says what it took back.
        browser.go(house)
        browser.type("[data-id=words_room]", "Boot room")
        browser.keys(Keys.ENTER)
        browser.sees("Boot room")
        browser.until(lambda: browser.find("[data-id=undo]"), "undo")
        browser.driver.execute_script("document.activeElement.blur()")
        browser.keys("z")
        browser.sees("Taken back: ")
        said = browser.complaints()
        check(not said, f"the browser complains: {said}")


def backed_up(program):
    """One touch backs the whole book up and tries the restore; the backup restores by the program too. The book is checked."""
    with Program(program, [HERON, QUAY]) as desk, Browser(DESK, scripts=False) as plain, Browser(DESK) as browser:
        for each, where in ((browser, None), (plain, desk.folder / "stick")):
            each.go(desk.address)
            each.click("a", "Check and back up the book")
            if where:
                each.type("[data-id=backup_place]", str(where))
            each.click("[data-id=back_up]")
            each.sees("Backed up, and restored to try it.")
            each.sees("2 houses, the same as here, and sound.")
            folder = each.find("[data-id=backup_folder]").text
            check(str(where or desk.folder) in folder, f"{folder} is elsewhere")
            other = desk.folder / f"restored-{bool(where)}.book"
            desk.run("restore", "--book", other, folder)
            check(desk.run("export", "--book", other, "heron") == desk.run("export", "--book", desk.book, "heron"), "another house came back")
        browser.picture("backed-up")
        browser.click("[data-id=check]")
        browser.sees("The book is sound.")
        browser.type("[data-id=backup_place]", "/proc/nowhere")
        browser.click("[data-id=back_up]")
        browser.sees("The backup was not made")
        check(browser.find("[data-id=backup_place]").get_attribute("value") == "/proc/nowhere", "what was typed is gone")


def help_at_hand(program):
    """How to lay the tape, the words and the formats, from where they are needed; every place has a drawing and a sentence."""
    with Program(program, [HERON]) as desk, Browser(DESK) as browser:
        house = at_house(browser, desk)
        browser.click("a", "Dormer")
        opening = browser.driver.current_url
        browser.click("a", "From a paper note")
        links = {a.get_attribute("href").split("#")[1] for a in browser.driver.find_elements(By.CSS_SELECTOR, "table.note th a")}
        browser.go(desk.address + "/help/measuring")
        shown = {each.get_attribute("id") for each in browser.driver.find_elements(By.CSS_SELECTOR, ".how article") if each.find_elements(By.CSS_SELECTOR, "svg .lit")}
        check(links == shown and len(shown) == 39, f"{links ^ shown} are without help")
        browser.go(opening)
        browser.click("button", "Read again")
        browser.sees("Type it, as on paper")
        place = browser.find("h1").text
        browser.click("a", "How to lay the tape")
        browser.until(lambda: browser.find(".how article:target h3").text == place, f"help on {place}")


def text_at_200(program):
    """A desk's browser set to letters twice as large: no page is wider than its window."""
    with Program(program, [HERON, QUAY]) as desk, Browser(DESK) as browser:
        browser.driver.set_script_timeout(120)
        pages = pages_of(desk, browser)
        found = []
        for name, address in pages.items():
            if name.startswith("sheet-"):
                continue
            for width in (DESK,):
                browser.look(width)
                browser.go(address)
                browser.find("h1")
                browser.driver.execute_script("document.documentElement.style.fontSize = '200%'")
                if name in ("house", "opening-east", "walk", "note"):
                    browser.picture(f"text-200-{name}-{width}")
                size = browser.devtools("Page.getLayoutMetrics")["cssContentSize"]
                if size["width"] > width:
                    found.append(f"{name} at {width}: {size['width']} wide")
        check(not found, "\n".join(found))


JOURNEYS = [two_desks, files_handed_over, found_and_keys, backed_up, help_at_hand, text_at_200]
