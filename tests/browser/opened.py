"""A page opened in Chromium, and what can be seen, asked, pressed and printed there.

Selenium speaks to the system's own driver and fetches nothing; the browser is given
no network. What is judged by somebody else's code: contrast and labels by axe-core.
"""

from __future__ import annotations

import base64
import json
import shutil
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from axe_core_python.selenium import Axe
from selenium import webdriver
from selenium.common.exceptions import UnexpectedAlertPresentException
from selenium.webdriver.chrome.service import Service
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.remote.webelement import WebElement

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
DRIVERS = ("chromedriver",)
HEIGHT_PX = 900

FLAGS = (
    "--headless=new",
    "--no-sandbox",  # continuous integration runs as root, where the sandbox can't
    "--disable-dev-shm-usage",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--hide-scrollbars",
    "--force-color-profile=srgb",
    "--host-resolver-rules=MAP * ~NOTFOUND",
)


def found() -> tuple[str, str] | None:
    """Where browser and driver are, or None."""
    paths = [
        next((path for name in names if (path := shutil.which(name))), None)
        for names in (BROWSERS, DRIVERS)
    ]
    return (paths[0], paths[1]) if paths[0] and paths[1] else None


def started(browser: str, driver: str) -> webdriver.Chrome:
    """A browser without windows and without network that logs what it does."""
    options = webdriver.ChromeOptions()
    options.binary_location = browser
    for flag in FLAGS:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    options.set_capability("unhandledPromptBehavior", "dismiss")
    chrome = webdriver.Chrome(service=Service(executable_path=driver), options=options)
    chrome.set_script_timeout(120)
    return chrome


class Opened:
    """One page at a time; `open` shows another one and forgets what went before."""

    def __init__(self, driver: webdriver.Chrome) -> None:
        self.driver = driver
        self.url = ""
        self._seen: list[tuple[str, dict[str, Any]]] = []
        self._console: list[str] = []

    def open(
        self,
        path: Path,
        *,
        width_px: int = 1280,
        height_px: int = HEIGHT_PX,
        scheme: str = "light",
        media: str = "",
        still: bool = True,
    ) -> Opened:
        """Show a page from disk at a width, in "light" or "dark", for screen or "print".

        `still` asks the page, as a person may, not to move anything.
        """
        self.driver.get("about:blank")
        self._read_logs()
        self._seen, self._console = [], []
        self.size(width_px, height_px)
        self.media(scheme=scheme, media=media, still=still)
        self.url = path.resolve().as_uri()
        self.driver.get(self.url)
        return self

    # What the person has

    def size(self, width_px: int, height_px: int = HEIGHT_PX) -> None:
        """A window of so many CSS px, without desktop scrollbars."""
        self._command(
            "Emulation.setDeviceMetricsOverride",
            width=width_px,
            height=height_px,
            deviceScaleFactor=1,
            mobile=width_px < 600,
        )

    def media(self, *, scheme: str = "light", media: str = "", still: bool = True) -> None:
        """Light or dark, screen or print, with things moving or still."""
        features = [
            {"name": "prefers-color-scheme", "value": scheme},
            {"name": "prefers-reduced-motion", "value": "reduce" if still else "no-preference"},
        ]
        self._command("Emulation.setEmulatedMedia", media=media, features=features)

    # What the browser saw

    def problems(self) -> list[str]:
        """What it complained of: errors, refusals of the page's own policy, failed loads."""
        self._read_logs()
        thrown = [
            str(said["exceptionDetails"])
            for method, said in self._seen
            if method == "Runtime.exceptionThrown"
        ]
        return self._console + thrown

    def requests(self) -> list[str]:
        """What was asked for beside the page itself and the pictures that it holds."""
        self._read_logs()
        asked = [
            str(said["request"]["url"])
            for method, said in self._seen
            if method == "Network.requestWillBeSent"
        ]
        return [url for url in asked if url != self.url and not url.startswith("data:")]

    def dialogs(self) -> list[str]:
        """What was said in boxes that a script opened."""
        self._read_logs()
        return [
            str(said["message"])
            for method, said in self._seen
            if method == "Page.javascriptDialogOpening"
        ]

    # What stands there

    def script(self, code: str, *given: Any) -> Any:
        """What a function body gives in the page; a box that comes in between is put away."""
        try:
            return self.driver.execute_script(code, *given)
        except UnexpectedAlertPresentException:
            return self.driver.execute_script(code, *given)

    def one(self, selector: str) -> WebElement:
        """The first element that fits."""
        return self.driver.find_element("css selector", selector)

    def all(self, selector: str) -> list[WebElement]:
        """Every element that fits."""
        return self.driver.find_elements("css selector", selector)

    def text(self) -> str:
        """What can be read, blanks as plain ones."""
        return plain(str(self.script("return document.body.innerText")))

    def unfold(self) -> None:
        """Open all that can be unfolded."""
        self.script("for (const d of document.querySelectorAll('details')) d.open = true")

    def tables(self) -> dict[str, list[list[str]]]:
        """Every table by its caption, as it stands on the screen."""
        return {
            plain(caption): [[plain(cell) for cell in row] for row in rows]
            for caption, rows in self.script(_TABLES)
        }

    def sideways_px(self) -> int:
        """How far the page can be pushed sideways; 0 where it fits."""
        return int(
            self.script(
                "const e = document.documentElement;"
                "return Math.max(e.scrollWidth, document.body.scrollWidth) - e.clientWidth"
            )
        )

    def violations(self) -> list[str]:
        """What axe-core has against the page as it is shown now, one line a rule."""
        run = (
            "const done = arguments[arguments.length - 1];"
            "axe.run(document, {resultTypes: ['violations']})"
            ".then(r => done(r.violations), e => done([{id: String(e), help: '', nodes: []}]))"
        )
        self.script(self._axe)
        told: list[Mapping[str, Any]] = self.driver.execute_async_script(run)
        return [
            f"{rule['id']}: {rule['help']}: {[node['html'][:120] for node in rule['nodes'][:3]]}"
            for rule in told
        ]

    # What the person does

    def press(self, *keys: str) -> None:
        """Press keys one after the other, wherever the focus is."""
        actions = ActionChains(self.driver, duration=0)
        for key in keys:
            actions.send_keys(key)
        actions.perform()

    def pdf(self) -> bytes:
        """The page on A4 paper."""
        made = self._command(
            "Page.printToPDF", paperWidth=8.27, paperHeight=11.69, printBackground=True
        )
        return base64.b64decode(made["data"])

    def picture(self, path: Path) -> None:
        """What the window shows, as a PNG file."""
        self.driver.save_screenshot(str(path))

    # How it is done

    def _command(self, name: str, **given: Any) -> Any:
        return self.driver.execute_cdp_cmd(name, given)

    def _read_logs(self) -> None:
        for entry in self.driver.get_log("browser"):
            if entry["level"] in {"SEVERE", "WARNING"}:
                self._console.append(str(entry["message"]))
        for entry in self.driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            self._seen.append((message["method"], message["params"]))

    @cached_property
    def _axe(self) -> str:
        return str(Axe().axe_script)


def plain(text: str) -> str:
    """Blanks of every kind as one plain blank, and a minus sign as what report.json has for it."""
    told = text.replace("\u00a0", " ").replace("\u2212", "-")
    return " ".join(told.split(" ")).strip()


_TABLES = """
return [...document.querySelectorAll('table')].map(t => [
  t.caption ? t.caption.textContent : '',
  [...t.rows].map(r => [...r.cells].map(c => c.innerText)),
]);
"""
