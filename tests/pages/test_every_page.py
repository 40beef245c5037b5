"""What holds for every page that the site consists of, whatever it shows."""

from __future__ import annotations

import re

import pytest
from helpers.runtime import built_site

pytestmark = pytest.mark.site

PAGES = sorted(p.relative_to(built_site()).as_posix() for p in built_site().rglob("*.html"))


@pytest.mark.parametrize("way", PAGES)
def test_opens_without_trouble(way, page, assert_no_axe_findings):
    # The page as it is read: no Python in an idle moment. With it each state is looked at in test_access.
    page.add_init_script("globalThis.requestIdleCallback = () => 0;")
    response = page.goto(way.removesuffix("index.html"))
    assert response.ok
    assert page.locator("main h1").count() == 1
    assert_no_axe_findings(page)
    wide = page.evaluate("document.documentElement.scrollWidth > innerWidth")
    assert not wide, "the page is wider than a phone"


@pytest.mark.parametrize("way", PAGES)
def test_reads_without_scripts_and_every_link_within_the_site_leads_somewhere(way, new_page, site):
    page = new_page(java_script_enabled=False)
    assert page.goto(way.removesuffix("index.html")).ok
    assert page.locator("main h1").inner_text().strip()
    links = page.locator("a[href]").evaluate_all("all => all.map(a => a.href)")
    for link in {href.split("#")[0].split("?")[0] for href in links}:
        if link.startswith(site.url):
            path = link.removeprefix(site.url)
            target = built_site() / (path + "index.html" if path in ("",) or path.endswith("/") else path)
            assert target.is_file(), f"{way} links to {link}"


@pytest.mark.parametrize("way", PAGES)
def test_content_policy_and_no_inline_code(way):
    text = (built_site() / way).read_text(encoding="utf-8")
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert policy, "no content policy"
    assert text.index("Content-Security-Policy") < text.index("<script"), "the policy comes late"
    assert "unsafe-inline" not in policy[1] and "'unsafe-eval'" not in policy[1]
    assert not re.search(r"<[^>]*\sstyle\s*=", text), "a style attribute"
    assert not re.search(r"<[^>]*\son[a-z]+\s*=", text), "an event attribute"
    for attributes, body in re.findall(r"<script([^>]*)>(.*?)</script>", text, re.S):
        assert "src=" in attributes or 'type="application/json"' in attributes, body[:80]
    assert "<style" not in text
