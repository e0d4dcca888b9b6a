"""Opens a page in headless Chromium, and does to it what is asked, in order.

usage: browser.py PAGE [ACTION...]

    size=WxH       the window, in CSS pixels
    dark           as if the reader wanted dark pages
    click=TEXT     a mouse click in the middle of the header that reads so (tables are counted from 1:
                   click=2:TEXT is in the second), where it is on the screen
    column=N       prints the Nth column of each table's body, a line a table, its fields with | between;
                   column=N:foot that of its foot
    sorted         prints what every header says of its order
    text=CSS       prints the text of the elements that the selector finds, a line each
    run=SCRIPT     prints what the script comes to
    shot=FILE      a screenshot, a PNG of the whole page
    requests       prints every address that was asked for

Whatever the page says on its console or throws, and every dialog that it opens, is an error. It talks to
Chromium over a pipe, with the protocol of its developer tools.
"""

import base64
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile


class Browser:
    def __init__(self, command):
        to_read, self.to = os.pipe()
        self.out, from_write = os.pipe()
        self.profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        words = [command, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
                 "--disable-background-networking", "--no-first-run", "--remote-debugging-pipe",
                 "--force-device-scale-factor=1", "--hide-scrollbars",
                 f"--user-data-dir={self.profile.name}", "about:blank"]

        def take_pipes():
            # It reads from 3 and writes to 4, whatever the pipes' numbers were.
            high = [os.dup2(fd, 100 + i) for i, fd in enumerate((to_read, from_write))]
            os.dup2(high[0], 3)
            os.dup2(high[1], 4)

        self.process = subprocess.Popen(words, preexec_fn=take_pipes, close_fds=False,
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                        stderr=subprocess.DEVNULL)
        os.close(to_read)
        os.close(from_write)
        self.buffer = b""
        self.number = 0
        self.session = None
        self.events = []

    def receive(self):
        while b"\0" not in self.buffer:
            chunk = os.read(self.out, 1 << 16)
            if not chunk:
                raise SystemExit("browser.py: Chromium went away")
            self.buffer += chunk
        message, self.buffer = self.buffer.split(b"\0", 1)
        got = json.loads(message)
        if got.get("method") == "Page.javascriptDialogOpening":
            self.process.kill()  # it would wait for an answer
            raise SystemExit(f"browser.py: {got}")
        return got

    def call(self, method, **params):
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.to, json.dumps(message).encode() + b"\0")
        while True:
            got = self.receive()
            if got.get("id") == self.number:
                if "error" in got:
                    raise SystemExit(f"browser.py: {method}: {got['error']}")
                return got["result"]
            self.events.append(got)

    def wait_for(self, method):
        while not any(event.get("method") == method for event in self.events):
            self.events.append(self.receive())

    def run(self, script):
        got = self.call("Runtime.evaluate", expression=script, returnByValue=True)
        if "exceptionDetails" in got:
            raise SystemExit(f"browser.py: {got['exceptionDetails']}")
        return got["result"].get("value")

    def close(self):
        self.session = None
        try:
            self.call("Browser.close")
        except (SystemExit, OSError):
            pass
        self.process.wait()
        self.profile.cleanup()


def open_page(browser, path):
    target = browser.call("Target.createTarget", url="about:blank")["targetId"]
    browser.session = browser.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
    for domain in ("Page", "Runtime", "Log", "Network"):
        browser.call(f"{domain}.enable")
    browser.call("Page.navigate", url=pathlib.Path(path).resolve().as_uri())
    browser.wait_for("Page.loadEventFired")


def click(browser, what):
    table, _, text = what.rpartition(":")
    place = browser.run("""(() => {
        const table = document.querySelectorAll("table")[%d - 1];
        const head = [...table.tHead.rows[0].cells].find(cell => cell.innerText.trim() === %s);
        if (!head) return null;
        head.scrollIntoView({block: "center", inline: "center"});
        const box = head.getBoundingClientRect();
        return {x: box.x + box.width / 2, y: box.y + box.height / 2};
    })()""" % (int(table or 1), json.dumps(text)))
    if place is None:
        raise SystemExit(f"browser.py: no header reads {text!r}")
    for kind in ("mousePressed", "mouseReleased"):
        browser.call("Input.dispatchMouseEvent", type=kind, button="left", clickCount=1, **place)


def shoot(browser, path):
    size = browser.call("Page.getLayoutMetrics")["cssContentSize"]
    clip = {"x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1}
    data = browser.call("Page.captureScreenshot", clip=clip, captureBeyondViewport=True)["data"]
    pathlib.Path(path).write_bytes(base64.b64decode(data))


def column(browser, what):
    number, _, part = what.partition(":")
    rows = "table.tFoot ? [...table.tFoot.rows] : []" if part else "[...table.tBodies[0].rows]"
    for line in browser.run(f"""[...document.querySelectorAll("table")].map(table =>
            ({rows}).map(row => row.cells[{int(number) - 1}].textContent).join("|"))"""):
        print(line)


def act(browser, action):
    name, _, value = action.partition("=")
    if name == "size":
        width, height = value.split("x")
        browser.call("Emulation.setDeviceMetricsOverride", width=int(width), height=int(height),
                     deviceScaleFactor=1, mobile=int(width) < 600)
    elif name == "dark":
        browser.call("Emulation.setEmulatedMedia",
                     features=[{"name": "prefers-color-scheme", "value": "dark"}])
    elif name == "click":
        click(browser, value)
    elif name == "column":
        column(browser, value)
    elif name == "sorted":
        print(*browser.run("""[...document.querySelectorAll("th")].map(head =>
            head.getAttribute("aria-sort"))"""))
    elif name == "text":
        for line in browser.run(f"""[...document.querySelectorAll({json.dumps(value)})].map(element =>
                element.innerText)"""):
            print(line)
    elif name == "run":
        print(browser.run(value))
    elif name == "shot":
        shoot(browser, value)
    elif name == "requests":
        for event in browser.events:
            if event.get("method") == "Network.requestWillBeSent":
                print(event["params"]["request"]["url"])
    else:
        raise SystemExit(f"browser.py: what is {action!r}?")


def main(path, *actions):
    command = shutil.which("chromium") or shutil.which("chromium-browser")
    if command is None:
        raise SystemExit("browser.py: no chromium")
    browser = Browser(command)
    try:
        open_page(browser, path)
        for action in actions:
            act(browser, action)
        browser.run("1")  # whatever was under way has been said by now
        bad = [event for event in browser.events
               if event.get("method") in ("Runtime.exceptionThrown", "Runtime.consoleAPICalled", "Log.entryAdded")]
        if bad:
            raise SystemExit(f"browser.py: {json.dumps(bad, indent=1)}")
    finally:
        browser.close()


sys.stdout.reconfigure(encoding="utf-8")
main(*sys.argv[1:])
