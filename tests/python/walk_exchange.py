"""Two books exchange through the generated Python: through the workroom's hub, which is the real program reached by
Python's own HTTP client with a pinned certificate, and through a folder. A re-measure that the desk asks for arrives at
the phone, stands first in the walk, is answered there, and closes at the desk.

Usage: walk_exchange.py FOLDER-OF-THE-LIBRARY-AND-THE-PROGRAM
"""

import hashlib
import http.client
import json
import queue
import shutil
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse
from pathlib import Path

from walk_scenario import ROOT, keys, load

# The hub's book takes in what arrives and brings out what was asked every three seconds; this is for a slow machine.
PATIENCE = 90


def http_client(hangtrue):
    """The platform's HTTP client of this platform."""

    class Client(hangtrue.HubHttp):
        requests = 0
        during = None

        def send(self, request):
            self.requests += 1
            if self.during:
                self.during()
            url = urllib.parse.urlsplit(request.url)
            context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
            context.minimum_version = ssl.TLSVersion.TLSv1_3
            # The one certificate is named by its hash: neither a name nor an authority says more.
            context.check_hostname = False
            context.verify_mode = ssl.CERT_NONE
            line = http.client.HTTPSConnection(url.hostname, url.port, timeout=request.seconds, context=context)
            try:
                line.connect()
                seen = hashlib.sha256(line.sock.getpeercert(binary_form=True)).hexdigest()
                if seen != request.certificate_sha256:
                    raise ssl.SSLError(f"the certificate is {seen}")
            except OSError as error:
                line.close()
                raise hangtrue.HttpFault.NotReached(str(error))
            try:
                headers = {header.name: header.value for header in request.headers}
                line.request(request.method, url.path, body=request.body, headers=headers)
                answer = line.getresponse()
                return hangtrue.HubAnswer(status=answer.status, body=answer.read(request.most + 1))
            except (OSError, http.client.HTTPException) as error:
                raise hangtrue.HttpFault.BrokenOff(str(error))
            finally:
                line.close()

    return Client()


class Hub:
    """The workroom: `hangtrue hub` with the desk's own book."""

    def __init__(self, program, folder, book):
        self.program, self.book = program, book
        arguments = [program, "hub", "--folder", folder, "--listen", "127.0.0.1:0", "--name", "Loft", "--book", book]
        pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True, "bufsize": 1}
        self.process = subprocess.Popen(arguments, **pipes)
        self.lines = queue.Queue()
        threading.Thread(target=self.read, daemon=True).start()
        self.wait_for('Type "pair"')

    def read(self):
        for line in self.process.stdout:
            self.lines.put(line.rstrip("\n"))

    def wait_for(self, words):
        end = time.monotonic() + PATIENCE
        while (left := end - time.monotonic()) > 0:
            try:
                line = self.lines.get(timeout=left)
            except queue.Empty:
                break
            if words in line:
                return line
        raise AssertionError(f'the hub did not say "{words}"')

    def type_in(self, line):
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def code(self):
        self.type_in("pair")
        return self.wait_for("hangtrue-pair:")

    def desk(self, *arguments):
        """Runs the program on the desk's book."""
        command = [self.program, arguments[0], "--book", self.book, *arguments[1:]]
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout

    def stop(self):
        self.process.kill()
        self.process.wait()


def until(what, check):
    """Tries until it holds."""
    end = time.monotonic() + PATIENCE
    while True:
        found = check()
        if found:
            return found
        assert time.monotonic() < end, f"in vain: {what}"
        time.sleep(0.5)


def shown(book):
    return json.loads(book.screen_json())["shown"]["screen"]


def counts(hangtrue, book):
    """What the walk's sync screen says; then back to where it was."""
    book.act(hangtrue.Event.SHOW_SYNC())
    screen = shown(book)
    book.act(hangtrue.Event.BACK())
    return screen


def touch(book, name):
    book.act(book.event_of(name))


def read(hangtrue, book, number):
    # Two accepts within 400 ms are a thumb that bounces: these books have the device's clock.
    time.sleep(0.45)
    for key in keys(hangtrue, number):
        book.act(hangtrue.Event.PRESS(key=key))
    touch(book, "accept")


def refused(hangtrue, call, words):
    try:
        call()
    except hangtrue.BookFault.Refused as fault:
        assert words in fault.reason and fault.advice, f"{fault.reason}; {fault.advice}"
    else:
        raise AssertionError(f"was not refused: {words}")


def pair(hangtrue, hub, book, client, name, address=None):
    """The whole way: the code, six digits typed at the workroom, the firm's key."""
    digits = book.begin_pairing(hub.code(), address, name, client)
    assert len(digits) == 6 and digits.isdigit(), digits
    hub.wait_for("Type the six digits")
    assert book.finish_pairing(client) is None, "nobody has typed yet"
    hub.type_in(digits)
    hub.wait_for("is paired")
    firm = book.finish_pairing(client)
    assert firm.workroom.name == "Loft", firm
    return firm


def through_the_hub(hangtrue, program, at):
    hub = Hub(program, str(at / "hub"), str(at / "desk.book"))
    client = http_client(hangtrue)
    try:
        phone = hangtrue.HouseBook.open(str(at / "phone"))
        assert phone.firm() is None
        refused(hangtrue, lambda: phone.exchange_with_workroom(client, None, True), "not paired")
        refused(hangtrue, lambda: phone.begin_pairing("otpauth://x", None, "phone", client), "no code")
        code = hub.code()
        refused(hangtrue, lambda: phone.begin_pairing(code, "loft", "phone", client), "no address")
        # Another computer at the workroom's address: its certificate is not the one that the code names.
        cert = code.split("cert=")[1][:64]
        refused(
            hangtrue,
            lambda: phone.begin_pairing(code.replace(cert, cert[::-1]), None, "phone", client),
            "not reached",
        )
        # Wrong digits: three tries.
        digits = phone.begin_pairing(code, None, "phone", client)
        hub.wait_for("Type the six digits")
        for _ in range(3):
            hub.type_in("123456" if digits != "123456" else "654321")
        hub.wait_for("Not paired")
        refused(hangtrue, lambda: phone.finish_pairing(client), "did not confirm")
        refused(hangtrue, lambda: phone.finish_pairing(client), "not begun")
        # A code whose address is not reached from here, and one typed by hand.
        code = hub.code()
        address = code.split("at=")[1].split("&")[0]
        firm = pair(hangtrue, hub, phone, client, "Ida's phone", address)
        assert phone.firm() == firm
        assert counts(hangtrue, phone)["confirmed_ms"] is None

        # A house is begun and read with the hub out of reach of nobody: all of it is here, none of it there.
        for step in ({"words": "house", "text": "Alder Row 4"}, "begin_in", "offer_kitchen", "offer_window"):
            if isinstance(step, str):
                touch(phone, step)
            else:
                phone.act(hangtrue.Event.TYPE_WORDS(slot=step["words"], text=step["text"]))
        for number in ("34 3/8", "34 7/16", "34 5/16"):
            read(hangtrue, phone, number)
        before = counts(hangtrue, phone)
        assert before["here"] == 6 and before["with_workroom"] == 0, before
        assert before["says"] == "6 facts are only here yet.", before
        started = time.time() * 1000
        report = phone.exchange_with_workroom(client, None, True)
        assert (report.all_sent, report.sent, report.held, report.stopped) == (True, 6, 6, None), report
        after = counts(hangtrue, phone)
        assert after["here"] == 6 and after["with_workroom"] == 6 and after["place"] == "the workroom", after
        assert started - 1 <= after["confirmed_ms"] <= time.time() * 1000 + 1, (started, after)
        assert after["says"] == "The workroom has all that was written here.", after
        # What is read after it is only here again.
        read(hangtrue, phone, "58 1/4")
        later = counts(hangtrue, phone)
        assert (later["here"], later["with_workroom"]) == (7, 6), later
        assert phone.exchange_with_workroom(client, None, True).sent == 1

        # The desk has it, and asks for one place again.
        until("the desk has the house", lambda: "Alder Row 4" in hub.desk("houses"))
        until("the desk has the last reading", lambda: "58 1/4" in hub.desk("export", "alder"))
        hub.desk("ask", "alder", "kitchen", "--place", "width_top", "--why", "an inch out?")
        assert "an inch out?" in hub.desk("asks")

        def arrived():
            report = phone.exchange_with_workroom(client, None, True)
            assert report.stopped is None, report
            return shown(phone)["because"]

        assert until("the ask arrives at the phone", lambda: "an inch out?" in arrived())
        screen = shown(phone)
        assert screen["place"] == "width_top" and "an inch out?" in screen["because"], screen
        read(hangtrue, phone, "34 3/8")
        assert shown(phone)["place"] == "height_right", "what stands open comes after the ask"
        assert "an inch out?" in hub.desk("asks")
        assert phone.exchange_with_workroom(client, None, True).all_sent
        until("the ask closes at the desk", lambda: hub.desk("asks").strip() == "Nothing is asked.")

        # A key that is pressed while an exchange runs is taken at once: the walk does not wait for the network.
        typed = []
        client.during = lambda: typed.append(phone.act(hangtrue.Event.PRESS(key=hangtrue.PadKey.DIGIT(7))))
        phone.exchange_with_workroom(client, None, True)
        client.during = None
        assert typed and shown(phone)["typed"] == "7" * len(typed), shown(phone)["typed"]

        # Another phone of the firm has the same house.
        other = hangtrue.HouseBook.open(str(at / "other"))
        pair(hangtrue, hub, other, client, "Bo's phone")
        report = other.exchange_with_workroom(client, None, True)
        assert report.arrived >= 9 and other.houses_digest() == phone.houses_digest(), report

        # Revoked, then gone: said, and nothing is lost.
        subprocess.run([program, "hub", "--folder", str(at / "hub"), "revoke", "Bo's phone"], check=True, stdout=subprocess.DEVNULL)
        stopped = other.exchange_with_workroom(client, None, True).stopped
        assert "revoked" in stopped and 'the workroom "Loft"' in stopped, stopped
        hub.stop()
        report = phone.exchange_with_workroom(client, None, True)
        assert "cannot be reached" in report.stopped and not report.all_sent, report
        assert counts(hangtrue, phone)["with_workroom"] == 8
        return phone, other, client.requests
    finally:
        hub.stop()


def through_a_folder(hangtrue, program, at, phone):
    key = at / "hub/firm.key"
    third = hangtrue.HouseBook.open(str(at / "third"))
    stick = str(at / "stick")
    refused(hangtrue, lambda: third.exchange_with_folder(stick, True, True), "no firm's key")
    refused(hangtrue, lambda: third.take_firm_key("AGE-SECRET-KEY-1X"), "no firm's key")
    assert third.take_firm_key(key.read_text()) == hangtrue.FirmCard(mark=phone.firm().mark, workroom=None)
    strange = at / "strange.key"
    subprocess.run([program, "key", str(strange)], check=True, stdout=subprocess.DEVNULL)
    refused(hangtrue, lambda: third.take_firm_key(strange.read_text()), "belongs to the firm")

    away = phone.exchange_with_folder(stick, False, True)
    assert "is the drive connected?" in away.stopped and away.sent == 0, away
    sent = phone.exchange_with_folder(stick, True, True)
    assert sent.all_sent and sent.sent == 8, sent
    assert counts(hangtrue, phone)["place"] == "the folder of exchange"
    got = third.exchange_with_folder(stick, False, True)
    # Its own eight, and the workroom's ask that it carries along.
    assert got.all_sent and got.arrived == 9, got
    assert third.houses_digest() != "" and counts(hangtrue, third)["says"] == "Nothing is written yet."
    third.act(third.event_of("house_*"))
    touch(third, "walk")
    read(hangtrue, third, "58 3/16")
    assert third.exchange_with_folder(stick, False, True).sent == 1
    back = phone.exchange_with_folder(stick, False, True)
    assert back.arrived == 1 and back.screen == phone.screen(), back


def main():
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "target/debug")
    hangtrue, place = load(folder)
    at = Path(tempfile.mkdtemp(prefix="hangtrue-exchange-"))
    phone, other, requests = through_the_hub(hangtrue, str((folder / "hangtrue").resolve()), at)
    print(f"hub: paired by typed digits, a re-measure asked, answered and closed; {requests} requests over TLS 1.3")
    through_a_folder(hangtrue, str((folder / "hangtrue").resolve()), at, phone)
    print("folder: one house there and back")
    del phone, other
    shutil.rmtree(at)
    shutil.rmtree(place)
    print("2 passed, 0 failed")


if __name__ == "__main__":
    main()
