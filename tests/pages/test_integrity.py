"""What was altered on its way to the device does not run, and the page says so."""

from __future__ import annotations

import shutil

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, dose
from helpers.runtime import built_site
from playwright.sync_api import expect
from sitebuild import files
from sitebuild.server import Server

pytestmark = [pytest.mark.site, pytest.mark.cold_start]


def add_a_file(wheel) -> None:
    content = files.read_zip(wheel.read_bytes())
    content["curebatch/altered.txt"] = b"not what was built"
    wheel.write_bytes(files.write_zip(content, compress=True))


def take_away(wheel) -> None:
    wheel.unlink()


@pytest.mark.parametrize(
    ("change", "trouble"), [(add_a_file, None), (take_away, r"status 404: \S*/curebatch-")]
)
def test_no_package_but_the_built_one_starts(change, trouble, tmp_path, new_page, watch):
    folder = tmp_path / "site"
    shutil.copytree(built_site(), folder)
    (wheel,) = folder.glob("assets/curebatch-*.whl")
    change(wheel)
    if trouble:
        watch.allow(trouble)
    with Server(folder, "/kitchen/") as server:
        watch.places.append(server.url)
        page = new_page(base_url=server.url)
        page.goto(LOAF_PAGE)
        page.locator("#f-pack").fill("6.25 %")
        expect(page.locator("[data-trouble]")).to_be_visible(timeout=START_MS)
        expect(dose(page)).to_have_count(0)
