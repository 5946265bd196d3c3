"""The program and a browser for the tests of the page: `hangtrue open` on a book of its own, and headless Chromium."""

import http.client
import os
import re
import shutil
import subprocess
import tempfile
import time
from pathlib import Path

from selenium import webdriver
from selenium.common.exceptions import (
    ElementClickInterceptedException,
    ElementNotInteractableException,
    JavascriptException,
    NoSuchElementException,
    StaleElementReferenceException,
    WebDriverException,
)
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

ROOT = Path(__file__).resolve().parents[2]
PICTURES = ROOT / "target" / "pictures" / "page"
# Generous: a busy machine of two cores is not a failure. Nothing waits this long when all is well.
PATIENCE = 40.0
PHONE, DESK, WIDE = 390, 1280, 1920


# The programs that run, by the address of their page.
DOORS = {}


class Failed(Exception):
    """What a test found wrong."""


def check(holds, what):
    if not holds:
        raise Failed(what)


class Program:
    """`hangtrue open` on a book in a folder that goes with it."""

    def __init__(self, program, houses=(), more=()):
        self.program = str(Path(program).resolve())
        self.folder = Path(tempfile.mkdtemp(prefix="hangtrue-page-"))
        self.book = self.folder / "a.book"
        if houses:
            self.run("take", "--book", self.book, *houses)
        self.start(*more)

    def run(self, *words):
        done = subprocess.run([self.program, *map(str, words)], capture_output=True, text=True, check=False)
        check(done.returncode == 0, f"hangtrue {' '.join(map(str, words))}: {done.stderr}")
        return done.stdout

    def start(self, *more):
        # Port 0: the system gives a free one, and the program prints which.
        words = [self.program, "open", "--book", str(self.book), "--port", "0", *more]
        self.process = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=self.folder)
        # It names a file that only its owner can read, and the file leads in.
        said = ""
        while not said.strip().endswith("open.html"):
            line = self.process.stdout.readline()
            check(line, f"the program named no file to open but: {said!r}")
            said = line
        self.door = Path(said.strip())
        self.host = re.search(r'action="http://([^/"]+)/enter"', self.door.read_text(encoding="utf-8")).group(1)
        self.port = int(self.host.rsplit(":", 1)[1])
        self.address = f"http://{self.host}"
        DOORS[self.address] = self
        self.cookie = None

    def key(self):
        """The cookie that a browser would have, for requests that no browser makes."""
        if self.cookie is None:
            token = re.search(r'name="token" value="([0-9a-f]+)"', self.door.read_text(encoding="utf-8")).group(1)
            line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
            kind = {"Host": self.host, "Origin": "null", "Content-Type": "application/x-www-form-urlencoded"}
            line.request("POST", "/enter", f"token={token}", kind)
            answer = line.getresponse()
            check(answer.status == 200, f"the door did not open: {answer.status}")
            self.cookie = answer.getheader("Set-Cookie").split(";")[0]
        return self.cookie

    def asked(self, method, path, body=None, headers=None):
        """One raw request with the key: status, headers, body."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        line.request(method, path, body=body, headers={"Host": self.host, "Cookie": self.key(), **(headers or {})})
        answer = line.getresponse()
        return answer.status, dict(answer.getheaders()), answer.read()

    def stop(self):
        self.process.terminate()
        self.process.wait(20)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)


def passes(problem):
    """True of what a page that changes under the hand makes the driver say: what is sought is looked for again."""
    known = (
        ElementClickInterceptedException,
        ElementNotInteractableException,
        JavascriptException,
        NoSuchElementException,
        StaleElementReferenceException,
    )
    # A page that goes while it is read is told in the browser's own words, too.
    gone = ("does not belong to the document", "No node with given id", "Could not find node with given id")
    return isinstance(problem, known) or any(words in str(problem.msg) for words in gone)


def visible(element):
    return element.is_displayed()


class Browser:
    """Chromium without a window. Every wait is for what a person would see."""

    def __init__(self, width=DESK, dark=False, scripts=True):
        options = webdriver.ChromeOptions()
        options.binary_location = "/usr/bin/chromium"
        words = ["--headless=new", "--disable-gpu", "--hide-scrollbars", "--disable-dev-shm-usage", "--lang=en"]
        if os.getuid() == 0:
            words.append("--no-sandbox")
        for word in words:
            options.add_argument(word)
        if not scripts:
            options.add_experimental_option("prefs", {"profile.managed_default_content_settings.javascript": 2})
        options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
        self.driver = webdriver.Chrome(options=options, service=Service("/usr/bin/chromedriver"))
        self.scripts = scripts
        self.inside = set()
        self.look(width, dark)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.driver.quit()

    def look(self, width, dark=False):
        self.width, self.dark = width, dark
        height = 844 if width == PHONE else 1000
        self.devtools("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.devtools("Emulation.setEmulatedMedia", features=[scheme])

    def devtools(self, command, **words):
        return self.driver.execute_cdp_cmd(command, words)

    def go(self, address):
        for page, program in DOORS.items():
            if address.startswith(page) and page not in self.inside:
                self.enter(program)
        self.driver.get(address)

    def enter(self, program):
        """As a person does: the program's file is opened. Without scripts a button is pressed."""
        self.driver.get(program.door.as_uri())
        if not self.scripts:
            self.find("button", "Open the page").click()
        self.until(lambda: self.driver.current_url == program.address + "/", "the page behind the door")
        self.inside.add(program.address)

    def text(self):
        return self.driver.find_element(By.TAG_NAME, "body").text

    def until(self, holds, what):
        """Waits until `holds()`; a page that is swapped in meanwhile is looked at again."""
        end = time.monotonic() + PATIENCE
        while True:
            try:
                got = holds()
                if got:
                    return got
            except WebDriverException as problem:
                if not passes(problem):
                    raise
            if time.monotonic() > end:
                self.picture("failed")
                raise Failed(f"never came: {what}\nat {self.driver.current_url}\n{self.text()[:700]}")
            time.sleep(0.05)

    def sees(self, words):
        self.until(lambda: words in self.text(), f"the words {words!r}")

    def find(self, css, words=None):
        """The first visible element, with these words on it when they are given."""

        def holds():
            for element in self.driver.find_elements(By.CSS_SELECTOR, css):
                if element.is_displayed() and (words is None or words == element.text.strip()):
                    return element
            return None

        return self.until(holds, f"{css} {words or ''}")

    def click(self, css, words=None):
        """Clicks, again when the page was swapped under the hand: then nothing was clicked."""
        for _ in range(20):
            try:
                self.find(css, words).click()
                return
            except WebDriverException as problem:
                if not passes(problem):
                    raise
                time.sleep(0.05)
        raise Failed(f"could not click {css} {words or ''}")

    def type(self, css, words):
        for _ in range(20):
            try:
                field = self.find(css)
                field.clear()
                field.send_keys(words)
                if field.get_attribute("value") == words:
                    return field
            except WebDriverException as problem:
                if not passes(problem):
                    raise
                time.sleep(0.05)
        raise Failed(f"could not type into {css}")

    def keys(self, *keys):
        """Keys to whatever has the focus, as a keyboard gives them."""
        webdriver.ActionChains(self.driver).send_keys(*keys).perform()

    def focused(self):
        return self.driver.switch_to.active_element

    def tab_to(self, holds, most=400):
        """Presses Tab until the focus is on what `holds` says; the focus must be seen on the way."""
        for _ in range(most):
            self.keys(Keys.TAB)
            element = self.focused()
            try:
                if holds(element):
                    ring = element.value_of_css_property("outline-style")
                    check(ring not in ("none", ""), f"the focus on {element.text!r} is not seen")
                    return element
            except StaleElementReferenceException:
                continue
        raise Failed("Tab never came to it")

    def picture(self, name):
        """A picture of the whole page, kept as an artefact of the run."""
        PICTURES.mkdir(parents=True, exist_ok=True)
        size = self.devtools("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": self.width, "height": min(size["height"], 6000), "scale": 1}
        shot = self.devtools("Page.captureScreenshot", format="png", captureBeyondViewport=True, clip=clip)
        import base64

        path = PICTURES / f"{name}.png"
        path.write_bytes(base64.b64decode(shot["data"]))
        return path

    def fits(self, what):
        """Nothing is wider than the window: no page scrolls sideways."""
        size = self.devtools("Page.getLayoutMetrics")["cssContentSize"]
        check(size["width"] <= self.width, f"{what} is {size['width']} wide at {self.width}")

    def complaints(self):
        """What the browser's console holds: scripts that failed, what the policy of content turned away."""
        return [line["message"] for line in self.driver.get_log("browser") if line["level"] == "SEVERE"]
