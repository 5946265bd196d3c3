"""From the first price to the last payment: how the workroom trades, a shade's price and another way beside it, a quote that is
agreed, what became otherwise since, what was paid, and a shade that is cut."""

from desk import DESK, PHONE, Browser, By, Keys, Program, check
from journeys import HERON, opened

NUMBERS = "set/00000000-0000-0000-0000-000000000000/settings."


def number(browser, desk, name, value):
    """Types one of the workroom's numbers."""
    browser.go(desk.address)
    browser.click("a", "The workroom's numbers")
    slot = f"[data-id='words_{NUMBERS}{name}']"
    opened(browser, slot)
    browser.type(slot, value)
    browser.keys(Keys.ENTER)


def from_price_to_payment(program):
    with Program(program, [HERON]) as desk, Browser(DESK) as browser:
        browser.go(desk.address + "/trade")
        browser.type("[data-id=trade_name]", "Wren and Thread")
        browser.type("[name=tax_name_0]", "Sales tax")
        browser.type("[name=tax_rate_0]", "7")
        # Everything has a price but the lift.
        for field in browser.driver.find_elements(By.CSS_SELECTOR, "[name^='price:']"):
            if field.get_attribute("name") != "price:lift":
                field.send_keys("4.10")
        browser.picture("trade")
        browser.type("[name='price:lift']", "thirty")
        browser.click("[data-id=keep_trade]")
        browser.sees('"thirty" is no price of lift.')
        check(browser.find("[name='price:lift']").get_attribute("value") == "thirty", "what was typed is lost")
        check(browser.find("[name='price:rib, 72 in']").get_attribute("value") == "4.10", "what was typed beside it is lost")
        # The browser tells its console of the refusal, and of nothing else.
        check(all("422" in line for line in browser.complaints()), "the browser complains of more than the refusal")
        browser.type("[name='price:lift']", "")
        browser.click("[data-id=keep_trade]")
        browser.until(lambda: browser.find("[name='price:rib, 72 in']").get_attribute("value") == "4.10", "the prices kept")
        number(browser, desk, "hour_price", "4500")
        browser.sees("Price of an hour: 4500.")
        number(browser, desk, "visit_charge", "2500")

        browser.go(desk.address)
        browser.click("a", "Heron Lane, number nine")
        house = browser.driver.current_url
        browser.click("a", "Over the sink")
        sink = browser.driver.current_url
        browser.sees("It is sold at")
        browser.sees("without")
        # Another way beside it.
        opened(browser, "[data-id=way_name]")
        browser.type("[data-id=way_name]", "blackout")
        browser.driver.find_element(By.CSS_SELECTOR, "[name=lining] option[value=blackout]").click()
        browser.click("[data-id=add_way]")
        browser.sees("blackout:")
        browser.picture("opening-priced")
        browser.look(PHONE)
        browser.fits("an opening with its price")
        browser.picture("opening-priced-phone")
        browser.look(DESK)

        browser.go(house + "/prices")
        browser.sees("The sum is without:")
        browser.sees("Sales tax, 7 %")
        browser.picture("prices")
        browser.look(PHONE, dark=True)
        browser.fits("the prices")
        browser.picture("prices-phone-dark")
        browser.look(DESK)
        browser.click("[data-id=draw_up]")
        browser.sees("Roman shades, made and hung")
        check("4500" not in browser.text() and "hour" not in browser.text().lower(), "the quote tells what an hour costs")
        browser.picture("quote")
        browser.go(house + "/prices")
        browser.type("[data-id=agree_name]", "R. Heron")
        browser.click("[data-id=agree]")
        browser.sees("Agreed by R. Heron")
        # A size that changes after that is said.
        browser.go(desk.address)
        number(browser, desk, "inside_width_deduction", "1/2")
        browser.click("[data-id=change_it]")
        browser.sees("Inside width deduction: 1/2.")
        browser.go(house + "/prices")
        browser.sees("Not as agreed any more; agree on a new quote:")
        browser.sees("Kitchen, Over the sink: its finished width was 35 1/2 in and is 35 3/8 in now.")
        browser.picture("prices-not-as-agreed")
        browser.click("a", "Quote 1")
        browser.sees("Quote 1 of")
        check("not as agreed any more" in browser.text().lower(), "the quote does not say that it is no longer as agreed")
        browser.picture("quote-not-as-agreed")
        browser.go(house + "/prices")
        browser.driver.execute_script("document.querySelector('[data-id=pay_on]').value = '2026-05-20'")
        browser.type("[data-id=pay_amount]", "1,000")
        browser.click("[data-id=pay]")
        browser.sees("1,000.00")
        browser.sees("Open:")

        # Cut: only once, and what is cut keeps its numbers.
        browser.go(sink)
        browser.click("[data-id=step_cut]")
        browser.sees("Over the sink: cut.")
        browser.sees("Cut on")
        # Nothing is asked first: the house holds the numbers that something of it was cut by.
        number(browser, desk, "inside_width_deduction", "3/4")
        browser.sees("Inside width deduction: 3/4.")
        browser.go(sink)
        browser.sees("35 3/8 in")
        browser.go(house + "/sheets/cutting")
        browser.sees("Cut already, and not planned again: Kitchen, Over the sink.")
        complaints = browser.complaints()
        check(not complaints, f"the browser complains: {complaints}")


JOURNEYS = [from_price_to_payment]
