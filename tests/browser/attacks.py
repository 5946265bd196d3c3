"""Hands that mean harm, and hands that slip: nothing gets in, nothing is lost."""

import json
import re
import urllib.parse

from desk import Browser, By, Keys, Program, check
from journeys import HERON

# As long as the shortest of the fields takes.
SCRIPT = "<script>document.title='in'</script><img src=x onerror=document.title='in'>'\"&"


def asked(desk, method, path, body=None, headers=None):
    """One raw request with the key: status, headers, body."""
    status, got, text = desk.asked(method, path, body, headers)
    return status, got, text.decode("utf-8", "replace")


def form(desk, path, fields, headers=None):
    return asked(
        desk,
        "POST",
        path,
        urllib.parse.urlencode(fields),
        {"Content-Type": "application/x-www-form-urlencoded", "Origin": desk.address, **(headers or {})},
    )


def facts(desk):
    return desk.run("export", "--book", desk.book, "Heron")


def nothing_gets_in(program):
    """Other sites' forms, other hosts, paths outside, bodies that are huge or broken: refused, and the book is as it was."""
    with Program(program, [HERON]) as desk:
        before = facts(desk)
        house = json.loads(before)["id"]
        opening = json.loads(before)["rooms"][0]["openings"][0]["id"]
        token = re.search(r'name="token" value="([0-9a-f]+)"', asked(desk, "GET", f"/house/{house}")[2]).group(1)
        ask = {"token": token, "house": house, "opening": opening, "why": "harm"}
        port = desk.port

        for path in ("/", f"/house/{house}", f"/house/{house}/file", "/page.css", "/live", "/workroom"):
            for cookie in ("", "hangtrue_key=" + "0" * 64, desk.key()[:-1]):
                status, _, text = asked(desk, "GET", path, headers={"Cookie": cookie})
                check((status, text) == (401, "Access key required.\n"), f"{path} without the key: {status} {text[:80]}")

        for host in (f"evil.example:{port}", "evil.example", f"127.0.0.1.evil.example:{port}", f"localhost.:{port}", "", "127.0.0.1", f"127.0.0.1:{port}", f"localhost:{port}", f"x.localhost:{port}"):
            check(asked(desk, "GET", "/", headers={"Host": host})[0] == 421, f"served under the name {host!r}")
        for origin in ("http://evil.example", "null", f"https://{desk.host}", f"http://127.0.0.1:{port}", f"http://{desk.host}1", f"http://evil.example:{port}"):
            for path in ("/ask", "/act", "/take-in", "/unit", "/photo", f"/house/{house}/opening/{opening}/note"):
                status = form(desk, path, ask, {"Origin": origin})[0]
                check(status == 403, f"{path} took a form of {origin}: {status}")
        for site in ("cross-site", "same-site"):
            check(form(desk, "/ask", ask, {"Sec-Fetch-Site": site})[0] == 403, f"took a {site} form")
        for wrong in ("", "0" * len(token), token[:-1], token + "0", token.upper() + "x"):
            check(form(desk, "/ask", {**ask, "token": wrong})[0] == 403, f"took the token {wrong!r}")
            note = {"token": wrong, "do": "keep", "first/width_top": "35"}
            check(form(desk, f"/house/{house}/opening/{opening}/note", note)[0] == 403, f"kept a note of the token {wrong!r}")
        check(asked(desk, "GET", f"/ask?{urllib.parse.urlencode(ask)}")[0] == 405, "a GET asked")

        outside = ["/../etc/passwd", "/photo/../../etc/passwd", "/photo/..%2f..%2fetc%2fpasswd", "/%2e%2e/%2e%2e/etc/passwd",
                   f"/house/{house}/sheets/..%2f..%2fx", "/house/..", "/page.css/../../x", "/photo/" + "a" * 64, "//etc/passwd",
                   "/house/%00", "/house/" + "9" * 5000, "/?find=" + "x" * 9000 + "%00%ff", "/\\..\\x"]
        for path in outside:
            status, _, text = asked(desk, "GET", path)
            check(status in (200, 400, 404, 414, 431) and "root:" not in text, f"{path[:60]} answers {status}")

        huge = "x" * 3_000_000
        for path, fields in (("/unit", {"token": token, "at": "/", "unit": huge}), ("/ask", {**ask, "why": huge}), ("/act", {"token": token, "at": "/", "event": huge})):
            check(form(desk, path, fields)[0] == 413, f"{path} read 3 MB")
        for event in ("", "{", "null", "[]", '{"do":"none"}', '{"do":"show_house","house":"x"}', '{"do":"press","key":{"digit":77}}', '{"do":"choose"}', "\u0000", '{"do":' * 5000):
            status = form(desk, "/act", {"token": token, "at": f"/house/{house}", "event": event})[0]
            check(status in (400, 422, 303), f"/act answered {status} to {event[:40]!r}")
        for body, kind in ((b"\xff\xfe%%%", "application/x-www-form-urlencoded"), (b"{}", "application/json"), (b"--x\r\nbroken", "multipart/form-data; boundary=x"), (b"", "multipart/form-data")):
            for path in ("/ask", "/act", "/take-in", "/photo", "/unit"):
                status = asked(desk, "POST", path, body, {"Content-Type": kind, "Origin": desk.address})[0]
                check(400 <= status < 500, f"{path} answered {status} to a broken {kind}")
        for text in ("", "{", '{"hangtrue_job":1}', '{"hangtrue_job":99}', "[" * 100_000):
            status, _, said = form(desk, "/take-in", {"token": token, "text": text})
            check(status in (400, 422) and "Not done" in said, f"took in {text[:20]!r}: {status}")
        strange = [("at", "//evil.example"), ("at", "http://evil.example"), ("at", "/house/../../x")]
        for name, value in strange:
            where = form(desk, "/unit", {"token": token, "at": "/", "unit": "mm", name: value})[1].get("location", "")
            check(where.startswith("/") and not where.startswith("//"), f"/unit led to {where}")

        status, headers, _ = asked(desk, "GET", "/")
        policy = {name.lower(): value for name, value in headers.items()}
        check("default-src 'none'" in policy["content-security-policy"] and "unsafe" not in policy["content-security-policy"], "the policy of content is loose")
        check(policy["x-frame-options"] == "DENY" and policy["x-content-type-options"] == "nosniff", "a header is missing")
        check("access-control-allow-origin" not in policy, "other sites may read")
        check(facts(desk) == before, "the book is not as it was")


def words_stay_words(program):
    """Script in every field that takes words: shown word for word on every page and sheet, and run on none."""
    with Program(program, [HERON]) as desk, Browser() as browser:
        job = json.loads(HERON.read_text(encoding="utf-8"))
        job["id"] = "019df23b-0000-78f7-9da1-494c73cf2560"
        job["name"] = SCRIPT
        job["cloths"][0]["name"] = SCRIPT
        room = job["rooms"][0]
        job["rooms"] = [room]
        room["name"] = SCRIPT
        for n, opening in enumerate(room["openings"]):
            opening["name"] = f"{SCRIPT}{n}"
            opening["choices"]["cloth"] = SCRIPT
            for reading in opening["readings"]:
                reading["by"] = SCRIPT
        # Ids are never used twice in a book.
        text = json.dumps(job)
        for n, old in enumerate(sorted(set(re.findall(r"019df23b-[0-9a-f-]{27}", text)) - {job["id"]})):
            text = text.replace(old, f"019df23c-0000-7000-8000-{n:012x}")
        path = desk.folder / "harm.json"
        path.write_text(text, encoding="utf-8")
        desk.run("take", "--book", desk.book, path)
        browser.go(desk.address)
        browser.click("a", SCRIPT)
        browser.sees("openings read")
        house = browser.driver.current_url
        browser.click("article.opening h3 a")
        browser.sees("Every reading")
        opening = browser.driver.current_url
        browser.type("[name=why]", SCRIPT)
        browser.type("[name=by]", SCRIPT)
        browser.click("button", "Ask")
        browser.sees(f"asks for all of it: {SCRIPT}")
        browser.type(f"[data-id^='words_note/']", SCRIPT)
        browser.click("[data-id^='give_note/']")
        browser.sees("The note is kept.")
        browser.go(opening + "/note")
        browser.type("[name='first/width_top']", SCRIPT).send_keys(Keys.TAB)
        browser.sees("\u201c" + SCRIPT)
        browser.go(house + "/settings")
        browser.type("[data-id=words_by]", SCRIPT)
        browser.click("[data-id=give_by]")
        browser.sees("Your name goes with what you write.")
        browser.go(house)
        browser.type("[data-id=words_room]", SCRIPT + "2")
        browser.click("[data-id=give_room]")
        browser.sees("is added.")
        browser.go(opening)
        browser.click("[data-id=measure]")
        browser.sees("Type it, as on paper")
        browser.click("summary", "Leave this place out")
        browser.type("[data-id^='words_skip/']", SCRIPT)
        browser.click("[data-id^='give_skip/']")
        browser.sees("left out")
        pages = [desk.address + "/", house, opening, opening + "/note", house + "/walk", house + "/leaving", house + "/settings"]
        pages += [f"{house}/sheets/{name}" for name in ("summary", "buying", "cutting", "making", "hanging", "full-size", "kit", "labels", "care", "measuring", "working")]
        pages.append(desk.address + "/?find=" + urllib.parse.quote(SCRIPT))
        for page in pages:
            browser.go(page)
            browser.find("h1")
            got = browser.driver.execute_script(
                "return [document.title === 'in', document.querySelectorAll('img[src=x]').length,"
                " [...document.scripts].filter((s) => !s.src.endsWith('/page.js')).length]"
            )
            check(got == [False, 0, 0], f"{page}: {got}")
        for path in ("/", house.removeprefix(desk.address)):
            check("<script>document" not in asked(desk, "GET", path)[2], f"script in {path}")
        # And in the files that are written to be opened without the program.
        desk.run("sheets", "--book", desk.book, "019df23b-0000", "--out", desk.folder / "sheets")
        for written in (desk.folder / "sheets").rglob("*.html"):
            browser.go(written.as_uri())
            got = browser.driver.execute_script("return [document.title === 'in', document.scripts.length, document.images.length]")
            check(got == [False, 0, 0], f"{written.name}: {got}")
