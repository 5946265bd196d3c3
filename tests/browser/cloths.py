"""The workroom's cloths and shelf at the desk: typed by hand, taken in as a table, used in a house, kept, ordered, arrived."""

import json
import subprocess
import urllib.parse

from desk import DESK, PHONE, ROOT, Browser, By, Program, check

HERON = ROOT / "fixtures" / "houses" / "heron-lane.json"
QUAY = ROOT / "fixtures" / "houses" / "quay-flat.json"

TABLE = """name,width,usable width,repeat,match,direction,weight,price,bought from
Pebble,54,,,,any way,210 g/m2,18.00 a yard,Mill & Son
Wide,very wide,,,,,,,
Lattice,137 cm,134 cm,25 1/4,half-drop,,,31.50 a metre,Mill & Son
Short,54,,,,,,,,
"""


def chosen(browser, desk, house, cloth, name=None):
    """Chooses a cloth for every opening of a house, or for those with a name, on the house's page of cloths."""
    browser.go(f"{house}/cloths")
    for field in browser.driver.find_elements(By.CSS_SELECTOR, "[name^='cloth/']"):
        if name is None or field.get_attribute("aria-label") == f"Face of {name}":
            field.clear()
            field.send_keys(cloth)
    browser.click("[data-id=cloths_choose]")


def job_of(desk, name):
    return json.loads(desk.run("export", "--book", desk.book, name))


def cloths_by_hand(program):
    """A cloth typed as people write it: refused with all that was typed, kept, found, changed once its effect was seen, out."""
    with Program(program, [HERON, QUAY]) as desk, Browser(DESK) as browser:
        browser.go(desk.address)
        browser.click("a", "The workroom's cloths")
        browser.sees("No cloth yet.")
        browser.picture("cloths-none")
        browser.click("a", "Add a cloth")
        browser.type("[name=name]", "Pebble")
        browser.type("[name=code]", "PB-07 sand")
        browser.type("[name=supplier]", "Mill & Son")
        browser.type("[name=width]", "54 3/7")
        browser.type("[name=repeat]", "25 1/4")
        browser.type("[name=weight]", "heavy")
        browser.type("[name=price]", "24.50 a yard")
        browser.click("[data-id=cloth_keep]")
        browser.sees("Not kept: 2 fields cannot be used.")
        browser.sees("write it like 240 g/m2 or 7.1 oz")
        browser.picture("cloth-refused")
        for field, words in [("name", "Pebble"), ("width", "54 3/7"), ("weight", "heavy"), ("price", "24.50 a yard"), ("supplier", "Mill & Son")]:
            held = browser.find(f"[name={field}]").get_attribute("value")
            check(held == words, f"{field} was {words!r} and came back as {held!r}")
        browser.type("[name=width]", "54")
        browser.type("[name=weight]", "7.1 oz")
        browser.click("[data-id=cloth_keep]")
        browser.sees("Pebble is kept.")
        browser.sees("24.50 a yard")
        browser.picture("cloths")
        browser.go(desk.address + "/cloths?find=mill+sand")
        browser.sees("PB-07 sand")
        browser.go(desk.address + "/cloths?find=velvet")
        browser.sees("No cloth has that in its words.")
        # A house chooses it; a name that is none is refused, and what was typed stays.
        browser.go(desk.address)
        browser.click("a", "Heron Lane, number nine")
        browser.sees("openings read")
        house = browser.driver.current_url
        browser.click("a", "Cloths")
        browser.sees("Cloths of Heron Lane, number nine")
        browser.picture("house-cloths")
        chosen(browser, desk, house, "Peble", "Study, North")
        browser.sees("there is no cloth called \u201cPeble\u201d")
        chosen(browser, desk, house, "pebble")
        browser.sees("choices are kept.")
        faces = {one["choices"]["cloth"] for room in job_of(desk, "Heron Lane")["rooms"] for one in room["openings"]}
        check(faces == {"Pebble"}, f"the faces are of {faces}")
        # A change says first what it changes; nothing is changed by looking.
        browser.go(desk.address + "/cloths/one?name=Pebble")
        browser.type("[name=price]", "30 a yard")
        browser.click("[data-id=cloth_keep]")
        browser.sees("What this changes")
        browser.sees("cloth to buy")
        browser.picture("cloth-what-changes")
        browser.click("a", "Leave it as it is")
        check(browser.find("[name=price]").get_attribute("value") == "24.50 a yard", "looking changed the price")
        browser.type("[name=price]", "30 a yard")
        browser.click("[data-id=cloth_keep]")
        browser.click("[data-id=change_it]")
        browser.sees("30.00 a yard")
        # A name that openings have chosen stays.
        browser.go(desk.address + "/cloths/one?name=Pebble")
        browser.type("[name=name]", "Pebbles")
        browser.click("[data-id=cloth_keep]")
        browser.sees("openings have chosen it by this name")
        # Taken out, the house keeps it as its own.
        browser.go(desk.address + "/cloths/one?name=Pebble")
        browser.click("summary", "Take it out")
        browser.click("[data-id=cloth_out]")
        browser.sees("1 house keeps it as its own.")
        own = [cloth for cloth in job_of(desk, "Heron Lane")["cloths"] if cloth["name"] == "Pebble"]
        check(own and own[0]["price_cents"] == 3000 and own[0]["code"] == "PB-07 sand", f"the house keeps {own}")
        said = browser.complaints()
        check(not [line for line in said if "422" not in line], f"the browser complains: {said}")


def a_table_of_cloths(program):
    """Bad rows are named by line and column and the rest goes in; what goes out comes in again as it was. Without scripts."""
    with Program(program, [QUAY]) as desk, Browser(DESK, scripts=False) as browser:
        browser.go(desk.address + "/cloths")
        browser.click("summary", "Take a table in")
        browser.find("[name=text]").send_keys(TABLE)
        browser.click("[data-id=look_cloths]")
        browser.sees("2 cloths new, 0 changed")
        browser.sees("Line 3, column 2 (width)")
        browser.sees("Line 5: this row has 10 columns and the first line names 9")
        browser.picture("table-looked-at")
        browser.click("[data-id=take_table]")
        browser.sees("2 rows are taken in.")
        browser.sees("31.50 a metre")
        status, _, text = desk.asked("GET", "/tables/cloths")
        check(status == 200 and text.decode().count("\n") == 3, f"{status} {text!r}")
        table = desk.folder / "cloths.csv"
        table.write_bytes(text)
        browser.go(desk.address + "/cloths")
        browser.click("summary", "Take a table in")
        browser.find("[name=file]").send_keys(str(table))
        browser.click("[data-id=look_cloths]")
        browser.sees("0 cloths new, 0 changed, 2 as they stand.")
        # The program does the same.
        more = desk.folder / "more.csv"
        more.write_text("name,width\nSlate,60\nBad,none\n", encoding="utf-8")
        done = subprocess.run([desk.program, "cloths", "--book", str(desk.book), "--take", str(more)], capture_output=True, text=True, check=False)
        check(done.returncode == 1 and "1 cloths taken in" in done.stdout and "Line 3, column 2 (width)" in done.stderr, f"{done}")
        check("Slate" in desk.run("cloths", "--book", desk.book), "the program does not list what it took in")


def the_shelf_in_two_houses(program):
    """A house is cut of the shelf, its offcuts go onto it by one touch, its plan stays, and the next house uses them."""
    with Program(program, [HERON, QUAY]) as desk, Browser(DESK) as browser:
        browser.go(desk.address + "/cloths/one")
        browser.type("[name=name]", "Pebble")
        browser.type("[name=width]", "54")
        browser.type("[name=supplier]", "Mill & Son")
        browser.type("[name=price]", "20 a yard")
        browser.click("[data-id=cloth_keep]")
        browser.sees("Pebble is kept.")
        browser.click("a", "The shelf")
        browser.sees("Nothing is on the shelf.")
        browser.click("a", "Put a piece on the shelf")
        browser.type("[name=cloth]", "Pebble")
        browser.type("[name=length]", "long")
        browser.type("[name=lot]", "A")
        browser.click("[data-id=piece_keep]")
        browser.sees("Not kept: one field cannot be used.")
        browser.type("[name=length]", "12'")
        browser.type("[name=flaws]", "100 to 102")
        browser.click("[data-id=piece_keep]")
        browser.sees("The piece is kept.")
        browser.sees("flaws: 100 to 102")
        browser.picture("shelf")
        browser.go(desk.address)
        browser.click("a", "Heron Lane, number nine")
        browser.sees("openings read")
        heron = browser.driver.current_url
        chosen(browser, desk, heron, "Pebble")
        browser.sees("kept.")
        browser.go(heron + "/shelf")
        browser.sees("When it is cut")
        browser.sees("lot A")
        browser.picture("house-shelf")
        before = browser.driver.find_element(By.CSS_SELECTOR, "ul.plain").text
        browser.click("[data-id=keep_offcuts]")
        browser.sees("on the shelf, ")
        browser.sees("Its offcuts are on the shelf")
        after = browser.driver.find_element(By.CSS_SELECTOR, "ul.plain").text
        check(before == after, f"its plan was {before!r} and is {after!r}")
        check(not browser.driver.find_elements(By.CSS_SELECTOR, "[data-id=keep_offcuts]"), "it can be done twice")
        browser.go(desk.address + "/shelf")
        browser.sees("left of Heron Lane, number nine")
        browser.picture("shelf-with-offcuts")
        # The next house is cut of what is left.
        browser.go(desk.address)
        browser.click("a", "Quay flat, third floor")
        browser.sees("openings read")
        quay = browser.driver.current_url
        chosen(browser, desk, quay, "Pebble")
        browser.go(quay + "/shelf")
        browser.sees("When it is cut")
        browser.picture("house-shelf-next")
        # What is missing is ordered, by who sells it.
        browser.go(desk.address + "/order")
        for box in browser.driver.find_elements(By.CSS_SELECTOR, "[name=house]"):
            box.click()
        browser.click("[data-id=order_list]")
        browser.sees("Mill & Son")
        browser.picture("order")
        # It arrives: too short is no go, long enough is go, and is set aside.
        browser.go(quay + "/arrival")
        browser.type("[name=length]", "20")
        browser.type("[name=lot]", "C")
        browser.click("[data-id=arrival_look]")
        browser.sees("No go.")
        browser.type("[name=length]", "30 m")
        browser.click("[data-id=arrival_look]")
        browser.sees("Go: every cut lies on it")
        browser.picture("arrival-go")
        browser.click("[data-id=arrival_keep]")
        browser.sees("set aside for this house")
        browser.sees("To buy: nothing")
        browser.go(desk.address + "/order?" + urllib.parse.urlencode({"house": quay.rsplit("/", 1)[1]}))
        browser.sees("plain lining")
        check("Pebble" not in browser.find("main").text, "what is set aside is ordered once more")
        said = browser.complaints()
        check(not [line for line in said if "422" not in line], f"the browser complains: {said}")


def cloths_are_seen(program):
    """Every page of cloths and shelf at a phone's and a desk's width: nothing scrolls sideways; groups of settings are found."""
    with Program(program, [HERON]) as desk, Browser(DESK) as browser:
        table = desk.folder / "cloths.csv"
        table.write_text(TABLE, encoding="utf-8")
        subprocess.run([desk.program, "cloths", "--book", str(desk.book), "--take", str(table)], capture_output=True, check=False)
        shelf = desk.folder / "shelf.csv"
        shelf.write_text("cloth,length,lot,first line,flaws,whose,note\nLattice,150,A,3,12 to 14,,\nPebble,2.4 m,,,,\"Heron Lane, number nine\",from the client\n", encoding="utf-8")
        desk.run("shelf", "--book", desk.book, "--take", shelf)
        browser.go(desk.address)
        browser.click("a", "Heron Lane, number nine")
        browser.sees("openings read")
        house = browser.driver.current_url
        chosen(browser, desk, house, "Lattice")
        pages = {
            "cloths": "/cloths",
            "cloth": "/cloths/one?name=Lattice",
            "shelf-list": "/shelf",
            "piece": "/shelf/one?cloth=Lattice",
            "order-none": "/order",
            "cloths-of-house": house.removeprefix(desk.address) + "/cloths",
            "shelf-of-house": house.removeprefix(desk.address) + "/shelf",
            "arrival": house.removeprefix(desk.address) + "/arrival",
            "numbers": "/house/00000000-0000-0000-0000-000000000000/settings",
            "numbers-found": house.removeprefix(desk.address) + "/settings?find=hem",
        }
        for width in (PHONE, DESK):
            browser.look(width)
            for name, path in pages.items():
                browser.go(desk.address + path)
                browser.find("h1")
                browser.fits(f"{name} at {width}")
                browser.picture(f"book-{name}-{width}")
        check("permille" not in browser.text() and "kpsi" not in browser.text(), "a code is shown")
        browser.sees("Hem above the sill")


JOURNEYS = [cloths_by_hand, a_table_of_cloths, the_shelf_in_two_houses, cloths_are_seen]
