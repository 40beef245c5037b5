"""Hosts whose folder may be changed and whose server may be stopped, and what is done there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from curebatch.intake.link import encode
from playwright.sync_api import Page, expect
from sitebuild.server import Server

READY = "html[data-offline=ready]"
LONG = 60_000


@dataclass
class Host:
    """A host of our own, whose folder may be changed and whose server may be stopped."""

    folder: Path
    prefix: str
    server: Server | None = None
    port: int = 0
    headers: bool = False  # as the folder's own rules for hosts have it

    def start(self) -> Host:
        self.server = Server(self.folder, self.prefix, self.port, headers=self.headers)
        self.server.__enter__()
        self.port = self.server._server.server_port
        return self

    def stop(self) -> None:
        if self.server:
            self.server.stop()
        self.server = None

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}{self.prefix}"


def link(**changes: str) -> str:
    texts = {
        "recipe": "pistachio-pork-loaf.1", "meat": "2.4 kg", "nitrite": "104 mg/kg", "nitrite_as": "NaNO2",
        "nitrite_per": "mix", "salt": "2.1 %", "salt_per": "mix", "pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g",
        **changes,
    }  # fmt: skip
    return "#" + encode(texts, kitchen=True)


def see_card(page: Page) -> None:
    page.locator("[data-confirm-pack]").click(timeout=LONG)
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=LONG)


def offline_troubles(watch) -> None:
    watch.tolerate(r"failed \(net::ERR_(CONNECTION_REFUSED|FAILED|INTERNET)|console: Failed to load resource|withdrawn.json")
