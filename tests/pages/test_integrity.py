"""What was altered on its way to the device does not run, and the page says so."""

from __future__ import annotations

import shutil

import pytest
from helpers.runtime import built_site
from playwright.sync_api import expect
from sitebuild import files
from sitebuild.server import Server

pytestmark = pytest.mark.site

RECIPE = "recipes/pistachio-pork-loaf/"


def altered_site(folder, change) -> None:
    shutil.copytree(built_site(), folder)
    (wheel,) = folder.glob("assets/curebatch-*.whl")
    change(wheel)


def add_a_file(wheel) -> None:
    content = files.read_zip(wheel.read_bytes())
    content["curebatch/altered.txt"] = b"not what was built"
    wheel.write_bytes(files.write_zip(content, compress=True))


@pytest.mark.parametrize("change", [add_a_file, lambda wheel: wheel.unlink()],
                         ids=["altered", "missing"])  # fmt: skip
def test_a_package_that_is_not_the_built_one_stops_the_start(change, tmp_path, new_page, watch):
    altered_site(tmp_path / "site", change)
    with Server(tmp_path / "site", "/kitchen/") as server:
        watch.places.append(server.url)
        watch.allow(r"curebatch-")
        page = new_page(base_url=server.url)
        page.goto(RECIPE)
        pack = page.locator("#f-pack")
        pack.fill("6.25 %")
        expect(page.locator("[data-trouble]")).to_be_visible(timeout=30_000)
        # The targets stay readable, and no weight is shown.
        expect(page.locator("[data-section=amounts]")).to_be_hidden()
