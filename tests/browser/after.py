"""After the quote: it is agreed with a signature, days are agreed, the shade is cut by one sheet, made, hung as it hangs; the
invoice is written, taken back and written again; the bench, the calendar file and the file for the accounts say the same."""

import csv
import datetime
import io
import re

import icalendar
from desk import DESK, PHONE, Browser, By, Program, check
from journeys import HERON, opened
from prices import number
from selenium.webdriver import ActionChains


def fetched(browser, address):
    """A file as the browser would save it."""
    ask = "fetch(arguments[0]).then(async (answer) => arguments[1]([answer.headers.get('content-type'), await answer.text()]))"
    return browser.driver.execute_async_script(ask, address)


def sign(browser):
    """Draws into the box that a signature is drawn in."""
    box = browser.find("[data-sign] svg")
    browser.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", box)
    ActionChains(browser.driver).move_to_element_with_offset(box, -100, 20).click_and_hold().move_by_offset(60, -40).move_by_offset(60, 40).release().perform()
    return browser.driver.find_element(By.CSS_SELECTOR, "[name=strokes]").get_attribute("value")


def after_the_quote(program):
    with Program(program, [HERON]) as desk, Browser(DESK) as browser:
        number(browser, desk, "hour_price", "4500")
        browser.go(desk.address + "/bench")
        browser.sees("Can be done now")
        browser.go(desk.address)
        browser.click("a", "Heron Lane, number nine")
        house = browser.driver.current_url
        browser.go(house + "/prices")
        browser.sees("An invoice is written from a quote that was agreed.")
        browser.click("[data-id=draw_up]")
        browser.go(desk.address + "/bench")
        browser.sees("the client's word on quote 1")
        browser.go(house + "/prices")
        strokes = sign(browser)
        check(re.fullmatch(r"\d+ \d+( \d+ \d+)+", strokes), f"the signature is {strokes!r}")
        browser.picture("signing")
        browser.type("[data-id=agree_name]", "R. Heron")
        browser.click("[data-id=agree]")
        browser.sees("Agreed by R. Heron")
        browser.click("a", "Quote 1")
        drawn = browser.find("svg.signature polyline").get_attribute("points")
        check(drawn == strokes, "the quote shows another signature than was drawn")

        # A day to hang, as a calendar reads it.
        browser.go(house + "/days")
        browser.sees("The earliest day to promise")
        day = datetime.date.today() + datetime.timedelta(days=30)
        browser.driver.find_element(By.CSS_SELECTOR, "[name=what] option[value=hang]").click()
        browser.driver.execute_script(f"document.querySelector('[data-id=visit_on]').value = '{day}'; document.querySelector('[data-id=visit_at]').value = '09:30'")
        browser.type("[name=note]", "Ladder; key at number 11, ask\u2009first")
        browser.click("[data-id=visit_add]")
        browser.sees(f"{day}, 09:30")
        browser.picture("days")
        kind, text = fetched(browser, desk.address + "/calendar.ics")
        check(kind.startswith("text/calendar"), f"the calendar is {kind}")
        check(all(len(line.encode()) <= 75 for line in text.split("\r\n")), "a line of the calendar is too long (RFC 5545, 3.1)")
        (event,) = icalendar.Calendar.from_ical(text).walk("VEVENT")
        begin, end = event["DTSTART"].dt, event["DTEND"].dt
        check(begin == datetime.datetime.combine(day, datetime.time(9, 30)) and end - begin == datetime.timedelta(hours=1), f"the visit is {begin} to {end}")
        check(str(event["SUMMARY"]) == "Heron Lane, number nine: hang", f"it is called {event['SUMMARY']}")
        check(str(event["DESCRIPTION"]) == "Ladder; key at number 11, ask\u2009first", f"its remark is {event['DESCRIPTION']!r}")
        check("UID" in event and "DTSTAMP" in event, "the visit lacks what RFC 5545, 3.6.1 asks for")

        # All of the cutting sheet is cut, by one touch; each is on the bench as such.
        browser.go(house + "/shelf")
        browser.click("[data-id=all_cut]")
        browser.sees("Marked as cut.")
        browser.go(desk.address + "/bench")
        browser.sees("Sew (")
        browser.picture("bench")
        browser.click("a", "Kit of the day")
        browser.sees("Shades and their bags")
        browser.picture("kit-of-the-day")
        browser.go(desk.address + "/bench")
        browser.look(PHONE, dark=True)
        browser.fits("the bench")
        browser.picture("bench-phone-dark")
        browser.look(DESK)
        browser.go(house)
        browser.click("a", "Over the sink")
        sink = browser.driver.current_url
        check("As it hangs" not in browser.text(), "what is not made is asked how it hangs")
        browser.click("[data-id=step_made]")
        browser.sees("As it hangs")
        browser.type("[data-id=hung_width]", "wide")
        browser.click("[data-id=keep_hung]")
        browser.sees('"wide" is no width.')
        browser.go(sink)
        browser.type("[data-id=hung_width]", "35 7/16")
        browser.type("[data-id=hung_fixed]", "two screws into the header, one shim of 1/16")
        browser.type("[name=content]", "R. Heron")
        browser.click("[data-id=keep_hung]")
        browser.sees("R. Heron saw it and was content.")
        opened(browser, "[data-id=defect_what]")
        browser.type("[data-id=defect_what]", "rubs at the left")
        browser.driver.find_element(By.CSS_SELECTOR, "[data-id=defect_cause] option[value=reading]").click()
        browser.driver.find_element(By.CSS_SELECTOR, "[name=place] option[value=width_middle]").click()
        browser.type("[name=money]", "48.00")
        browser.type("[name=minutes]", "60")
        browser.click("[data-id=defect]")
        browser.sees("rubs at the left")
        browser.picture("opening-hung")
        browser.look(PHONE)
        browser.fits("an opening that hangs")
        browser.look(DESK)
        browser.go(desk.address + "/mistakes")
        # 48.00, and an hour at 45.00.
        browser.sees("93.00")
        browser.sees("middle width")
        browser.picture("mistakes")

        # The invoice, taken back and written again; the accounts add up to what was agreed.
        browser.go(house + "/prices")
        browser.click("[data-id=invoice]")
        browser.sees("Invoice ")
        first = browser.driver.current_url.rsplit("/", 1)[1]
        check(re.fullmatch(r"[0-9A-HJKMNP-TV-Z]{4}-0001", first), f"the first number is {first}")
        browser.picture("invoice")
        browser.go(house + "/prices")
        browser.click("button", "Take it back")
        browser.sees(f"takes back invoice {first}")
        browser.go(house + "/prices")
        browser.click("[data-id=invoice]")
        browser.sees("Invoice ")
        check(browser.driver.current_url.endswith("-0003"), "a number is skipped or said twice")
        browser.go(desk.address + "/money")
        browser.sees("takes back")
        browser.picture("money")
        browser.look(PHONE)
        browser.fits("the invoices")
        browser.look(DESK)
        kind, text = fetched(browser, desk.address + "/money.csv")
        check(kind.startswith("text/csv"), f"the accounts are {kind}")
        rows = list(csv.DictReader(io.StringIO(text)))
        cents = {}
        for row in rows:
            check(re.fullmatch(r"-?\d+[.]\d\d", row["amount"]), f"an amount is {row['amount']!r}")
            cents[row["number"]] = cents.get(row["number"], 0) + round(100 * float(row["amount"]))
        sums = list(cents.values())
        check(len(sums) == 3 and sums[0] == -sums[1] == sums[2] > 0, f"the invoices add up to {sums}")
        later = datetime.date.today() + datetime.timedelta(days=1)
        check(len(list(csv.DictReader(io.StringIO(fetched(browser, f"{desk.address}/money.csv?from={later}")[1])))) == 0, "what is not of these days is in the file")
        complaints = [line for line in browser.complaints() if "422" not in line]
        check(not complaints, f"the browser complains: {complaints}")


JOURNEYS = [after_the_quote]
