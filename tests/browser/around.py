"""What is around an opening and several shades in one: said on the page, seen in sizes, drawings and sheets."""

import json
import tempfile
from pathlib import Path

from desk import DESK, PHONE, Browser, Keys, Program, check
from journeys import typed


def reading(n, place, read):
    return {"id": f"0192a3b4-0000-7000-8000-{n:012}", "place": place, "read": read, "at": "2026-05-04T09:12:00Z"}


def opening(n, name, readings, **more):
    taken = [reading(1000 * n + i, place, read) for i, (place, read) in enumerate(readings.items())]
    return {"id": f"0192a3b4-0000-7000-8000-{n:012}", "name": name, "readings": taken, **more}


def bay_house(folder):
    """A wide opening for two shades, a window under an arch without trim, one in the corner of a bay; all read."""
    wide = {"width_top": "72", "width_middle": "72", "width_bottom": "72", "height_left": "60", "height_right": "60",
            "diagonal_rising": "93 3/4", "diagonal_falling": "93 3/4", "depth": "3 1/2", "plumb_left": "0"}
    arch = {"width_top": "36", "width_middle": "36", "width_bottom": "36", "height_left": "48", "height_right": "48",
            "wall_above": "14", "wall_left": "8", "wall_right": "8", "proud_most": "0"}
    bay = {"width_top": "34", "height_left": "58", "trim_width": "41", "trim_height": "61 1/2", "trim_leg": "3 1/2",
           "trim_thickness": "1/2", "wall_above": "9", "wall_left": "1 1/4", "wall_right": "6", "proud_most": "1/2"}
    job = {"hangtrue_job": 1, "id": "0192a3b4-0000-7000-8000-000000000001", "name": "Weir House", "unit": "in", "rooms": [
        {"id": "0192a3b4-0000-7000-8000-000000000002", "name": "Parlour", "openings": [
            opening(11, "Wide", wide, choices={"mount": "inside"}, wall={"head": "wood"}),
            opening(12, "Porch", arch, choices={"mount": "outside", "attach": "flush"}, wall={"above": "wood", "no_trim": True}),
            opening(13, "Bay", bay, choices={"mount": "outside", "attach": "flush"}, wall={"above": "wood"}),
        ]}]}
    path = Path(folder) / "weir-house.json"
    path.write_text(json.dumps(job))
    return path


def several_shades_and_what_is_around(program):
    """One opening becomes two in a click, an arch asks for its rise, and a bay's corner refuses a board with what would fit."""
    with tempfile.TemporaryDirectory() as folder, Program(program, [bay_house(folder)]) as desk, Browser(DESK) as browser:
        browser.go(desk.address)
        browser.click("a", "Weir House")
        house = browser.driver.current_url
        browser.click("a", "Wide")
        browser.click("button", "Two side by side")
        # By pencil: 72 less 3/8 is 71 5/8; less 1/2 between, halved: 35 9/16.
        browser.sees("It is the left one of two in this opening")
        browser.sees("35 9/16")
        browser.picture("several-left")
        browser.click("button", "Wide right")
        browser.sees("It is the right one of two in this opening")
        browser.picture("several-right")
        # Porch: its head is an arch; what the board has to clear is asked for.
        browser.go(house)
        browser.click("a", "Porch")
        browser.click("button", "Arched")
        browser.sees("rise of the arch")
        browser.picture("arch-asks")
        browser.click("button", "Measure")
        browser.until(lambda: browser.find("h1").text == "Rise of the arch", "the place")
        browser.picture("arch-walk")
        typed(browser, "9")
        browser.go(house)
        browser.click("a", "Porch")
        # 48 + 9 + 1/4 + 1 1/2 - 1/4: the pencil's sum in tests/tests/around.rs.
        browser.sees("58 1/2")
        browser.picture("arch-read")
        # Bay: the corner at the left is said, and the board would meet the next.
        browser.go(house)
        browser.click("a", "Bay")
        on = browser.driver.current_url.rsplit("/", 1)[1]
        field = f"[data-id='words_set/{on}/wall.corner_left']"
        browser.driver.execute_script("document.querySelectorAll('details').forEach(each => each.open = true)")
        browser.type(field, "135").send_keys(Keys.ENTER)
        browser.sees("it needs 1 5/16 in of wall, and there is 1 1/4 in")
        browser.picture("bay-corner")
        browser.go(house)
        browser.picture("around-house")
        browser.look(PHONE)
        browser.go(house)
        browser.picture("around-house-phone")
        browser.fits("the house with several shades")
        job = json.loads(desk.run("export", "--book", desk.book, "Weir House"))
        openings = job["rooms"][0]["openings"]
        check([one["name"] for one in openings] == ["Wide left", "Wide right", "Porch", "Bay"], "they stand beside each other")
        check(len(openings[0]["readings"]) == 9 and not openings[1].get("readings"), "what was read stands once")


JOURNEYS = [several_shades_and_what_is_around]
