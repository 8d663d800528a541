"""A browser to test with: Debian's Chromium without a window, driven over the DevTools protocol.

The protocol is JSON, each message ended by a NUL, on file descriptors 3 (to the browser) and 4
(from it): https://chromedevtools.github.io/devtools-protocol/.  A browser whose pipe is closed
ends, so that none outlives its test, however that ends.

Nothing waits for ever: each command has its limit, and the browser as a whole has one.
"""

import base64
import fcntl
import json
import os
import select
import shutil
import signal
import subprocess
import tempfile
import time

NAMES = ("chromium", "chromium-browser")
COMMAND_LIMIT_S = 20.0

SWITCHES = [
    "--headless=new", "--remote-debugging-pipe", "--no-first-run", "--no-default-browser-check",
    "--disable-gpu", "--disable-dev-shm-usage", "--disable-extensions", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-default-apps",
    "--disable-features=Translate,MediaRouter,OptimizationHints", "--mute-audio",
    "--hide-scrollbars", "--force-color-profile=srgb", "--lang=en-GB", "--use-mock-keychain",
    "--password-store=basic", "about:blank",
]

# Name, code and text of the keys that tests press.
KEYS = {
    "Tab": (9, "Tab", ""), "Enter": (13, "Enter", "\r"), "Space": (32, "Space", " "),
    "Escape": (27, "Escape", ""), "Home": (36, "Home", ""), "End": (35, "End", ""),
    "ArrowLeft": (37, "ArrowLeft", ""), "ArrowUp": (38, "ArrowUp", ""),
    "ArrowRight": (39, "ArrowRight", ""), "ArrowDown": (40, "ArrowDown", ""),
}


class BrowserError(Exception):
    """The browser did not do what it was asked, or not in time."""


def find():
    """The path of Chromium; None if there is none."""
    return next(filter(None, map(shutil.which, NAMES)), None)


class Browser:
    """A running Chromium with a profile of its own; a context manager, which always ends it."""

    def __init__(self, limit_s=120.0):
        self.until = time.monotonic() + limit_s
        self.last_id = 0
        self.unread = b""
        self.answers = {}
        self.pages = {}
        self.profile = tempfile.TemporaryDirectory(prefix="profile-", ignore_cleanup_errors=True)
        self.to_browser, self.from_browser, self.process = self._start()

    def _start(self):
        read_end, to_browser = os.pipe()
        from_browser, write_end = os.pipe()
        high = [fcntl.fcntl(fd, fcntl.F_DUPFD, 10) for fd in (read_end, write_end)]

        def take_places():
            os.dup2(high[0], 3)
            os.dup2(high[1], 4)

        switches = SWITCHES + (["--no-sandbox"] if os.geteuid() == 0 else [])
        try:
            process = subprocess.Popen(
                [find(), f"--user-data-dir={self.profile.name}", *switches],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                env={**os.environ, "HOME": self.profile.name, "LC_ALL": "C.UTF-8"},
                pass_fds=(3, 4), preexec_fn=take_places, start_new_session=True)
        finally:
            for fd in (read_end, write_end, *high):
                os.close(fd)
        return to_browser, from_browser, process

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def close(self):
        for fd in (self.to_browser, self.from_browser):
            os.close(fd)
        try:
            self.process.wait(2)
        except subprocess.TimeoutExpired:
            pass
        try:
            os.killpg(self.process.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        self.process.wait()
        self.profile.cleanup()

    def call(self, method, session=None, limit_s=COMMAND_LIMIT_S, **parameters):
        """Has the browser do one thing, and waits for its answer."""
        self.last_id += 1
        number = self.last_id
        message = {"id": number, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        self._write(json.dumps(message).encode() + b"\0")
        self.read_until(lambda: number in self.answers, limit_s, method)
        answer = self.answers.pop(number)
        if "error" in answer:
            raise BrowserError(f"{method}: {answer['error'].get('message')}")
        return answer["result"]

    def _write(self, text):
        try:
            while text:
                text = text[os.write(self.to_browser, text):]
        except BrokenPipeError:
            raise BrowserError("the browser ended") from None

    def read_until(self, is_done, limit_s, what):
        """Takes what the browser says until is_done()."""
        until = min(time.monotonic() + limit_s, self.until)
        while not is_done():
            left = until - time.monotonic()
            if left <= 0 or not self.read(left):
                raise BrowserError(f"{what}: not done in time")

    def read(self, limit_s):
        """Takes what the browser says next; False if it says nothing for so long."""
        if not select.select([self.from_browser], [], [], max(0.0, limit_s))[0]:
            return False
        text = os.read(self.from_browser, 1 << 20)
        if not text:
            raise BrowserError("the browser ended")
        *messages, self.unread = (self.unread + text).split(b"\0")
        for message in map(json.loads, messages):
            if "id" in message:
                self.answers[message["id"]] = message
            elif message.get("sessionId") in self.pages:
                self.pages[message["sessionId"]].note(message["method"], message["params"])
        return True

    def new_page(self):
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        page = Page(self, target, session)
        self.pages[session] = page
        page.begin()
        return page


class Page:
    """One tab, and a record of all that went on in it."""

    def __init__(self, browser, target, session):
        self.browser = browser
        self.target = target
        self.session = session
        self.forget()

    def begin(self):
        for domain in ("Page", "Runtime", "Log", "Network", "Audits"):
            self.call(f"{domain}.enable")
        # Else a page in a tab behind another one has no focus and draws no frames.
        self.call("Emulation.setFocusEmulationEnabled", enabled=True)

    def forget(self):
        self.console = []        # what it said: (level, text)
        self.exceptions = []     # what nobody caught
        self.violations = []     # of its content security policy
        self.requests = []       # addresses that it asked for, its own included
        self.loaded = 0

    def call(self, method, **parameters):
        return self.browser.call(method, session=self.session, **parameters)

    def note(self, method, said):
        """Keeps the record; called for each event of this tab."""
        if method == "Runtime.consoleAPICalled":
            text = " ".join(str(part.get("value", part.get("description"))) for part in said["args"])
            self.console.append((said["type"], text))
        elif method == "Log.entryAdded":
            self.console.append((said["entry"]["level"], said["entry"]["text"]))
        elif method == "Runtime.exceptionThrown":
            details = said["exceptionDetails"]
            self.exceptions.append(details.get("exception", {}).get("description", details["text"]))
        elif method == "Audits.issueAdded":
            policy = said["issue"]["details"].get("contentSecurityPolicyIssueDetails")
            if policy:
                self.violations.append(
                    f"{policy['violatedDirective']} {policy.get('blockedURL', '')}".strip())
        elif method == "Network.requestWillBeSent":
            self.requests.append(said["request"]["url"])
        elif method == "Page.loadEventFired":
            self.loaded += 1

    def open(self, address, limit_s=COMMAND_LIMIT_S):
        """Opens an address, and waits until it is loaded; the record starts anew."""
        self.forget()
        answer = self.call("Page.navigate", url=address, limit_s=limit_s)
        if "errorText" in answer:
            raise BrowserError(f"{address}: {answer['errorText']}")
        self.browser.read_until(lambda: self.loaded, limit_s, f"loading {address}")

    def close(self):
        self.browser.call("Target.closeTarget", targetId=self.target)
        del self.browser.pages[self.session]

    def evaluate(self, script, limit_s=COMMAND_LIMIT_S):
        """The value of an expression of the page; promises are waited for."""
        answer = self.call("Runtime.evaluate", expression=script, returnByValue=True,
                           awaitPromise=True, limit_s=limit_s)
        if "exceptionDetails" in answer:
            details = answer["exceptionDetails"]
            said = details.get("exception", {}).get("description", details["text"])
            raise BrowserError(f"{said}\nin: {script[:300]}")
        return answer["result"].get("value")

    def wait(self, condition, limit_s=10.0):
        """Waits until an expression of the page is true; False if it never came to be."""
        until = time.monotonic() + limit_s
        while not self.evaluate(condition):
            if time.monotonic() > until:
                return False
            self.browser.read(0.02)
        return True

    # ---- what a person does

    def click(self, selector):
        """Clicks with the mouse in the middle of the first such element, scrolled into view."""
        spot = self.evaluate(f"""(() => {{
            let element = document.querySelector({json.dumps(selector)});
            if (!element) return null;
            // A control that only its label shows is chosen by its label.
            if (element.labels?.length && element.getBoundingClientRect().width <= 1)
                element = element.labels[0];
            element.scrollIntoView({{block: 'center', inline: 'center', behavior: 'instant'}});
            const box = element.getBoundingClientRect();
            return {{x: box.x + box.width / 2, y: box.y + box.height / 2,
                     seen: box.width > 0 && box.height > 0}};
        }})()""")
        if not spot or not spot["seen"]:
            raise BrowserError(f"nothing to click at {selector}")
        for kind in ("mouseMoved", "mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=spot["x"], y=spot["y"],
                      **({} if kind == "mouseMoved" else {"button": "left", "clickCount": 1}))

    def press(self, key, shift=False):
        """Presses and releases a key."""
        number, code, text = KEYS[key]
        name = " " if key == "Space" else key
        common = {"key": name, "code": code, "windowsVirtualKeyCode": number,
                  "modifiers": 8 if shift else 0}
        down = {"type": "keyDown", "text": text} if text else {"type": "rawKeyDown"}
        self.call("Input.dispatchKeyEvent", **down, **common)
        self.call("Input.dispatchKeyEvent", type="keyUp", **common)

    # ---- where a person looks at it

    def size(self, width, height, scale=1, mobile=False):
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=scale, mobile=mobile)
        self.call("Emulation.setTouchEmulationEnabled", enabled=mobile)

    def media(self, kind="", dark=False, still=False):
        """Screen or print, a dark scheme, reduced motion; without arguments as it was."""
        self.call("Emulation.setEmulatedMedia", media=kind, features=[
            {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
            {"name": "prefers-reduced-motion", "value": "reduce" if still else "no-preference"}])

    def picture(self, clip=None):
        """A PNG of what is seen, or of a rectangle of the page: (x, y, width, height)."""
        options = {"captureBeyondViewport": clip is not None}
        if clip is not None:
            options["clip"] = dict(zip(("x", "y", "width", "height"), clip), scale=1)
        shot = self.call("Page.captureScreenshot", format="png", **options)
        return base64.b64decode(shot["data"])

    def whole_picture(self):
        """A PNG of the page from its head to its foot."""
        size = self.call("Page.getLayoutMetrics")["cssContentSize"]
        return self.picture((0, 0, size["width"], size["height"]))

    def pdf(self):
        """The page as it prints on A4: bytes of a PDF."""
        return base64.b64decode(self.call("Page.printToPDF", paperWidth=8.27, paperHeight=11.69,
                                          printBackground=True)["data"])
