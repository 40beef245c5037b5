"""The honest test: the site is visited once, its server is ended, and what a cook opens then is
the right card. In each engine, and with weights worked out again by this Python."""

from __future__ import annotations

import pytest
from helpers.card_page import LOAF_PAGE, card_link, expected, expected_weights
from helpers.runtime import built_site

from .drivers import ENGINES, Engine, open_engine
from .serving import SiteProcess

pytestmark = pytest.mark.site

PREFIX = "/kitchen/curebatch/"
BRISKET = "corned-brisket"

# Fetching, storing and starting, on a machine that does other things as well.
LONG_S = 120

BATCH = {
    "meat": "3.2 kg",
    "nitrite": "95 mg/kg",
    "nitrite_per": "mix",
    "pack": "6.25 %",
    "scale": "0.1 g",
}

SETTLED = (
    "!document.documentElement.hasAttribute('data-awaiting')"
    " && document.querySelector('[data-card]') !== null"
    " && !document.querySelector('[data-card]').hasAttribute('data-stale')"
)
ROWS = '[data-section="amounts"] tbody tr'
WEIGHTS = f"{ROWS} td"


@pytest.fixture
def site(request):
    """The built site below a path, or at the root of its origin where a test asks for that."""
    with SiteProcess(built_site(), getattr(request, "param", PREFIX)) as server:
        yield server


@pytest.fixture(params=ENGINES)
def engine(request, tmp_path):
    with open_engine(request.param, tmp_path / "profile") as opened:
        yield opened


def visit(engine: Engine, site: SiteProcess) -> None:
    """A visit, until the page says that it is ready for being offline."""
    engine.goto(site.url + LOAF_PAGE)
    engine.wait_for("document.documentElement.dataset.offline === 'ready'", LONG_S)
    assert engine.troubles == []


def leave(engine: Engine, site: SiteProcess) -> None:
    """Away from the site, and the site away: what comes next is a new page with no server."""
    engine.goto("about:blank")
    site.stop()
    assert not site.answers()


def assert_shows(engine: Engine, answer: dict) -> None:
    engine.wait_for(SETTLED, LONG_S)
    assert answer["card"]["verdict"] in ("ok", "caution"), answer["card"]["messages"]
    assert engine.texts(WEIGHTS) == expected_weights(answer)
    assert any("Curing salt" in row for row in engine.texts(ROWS))


def assert_no_exception(engine: Engine) -> None:
    """Requests may fail without a server, and browsers log it; the page must have known."""
    assert [text for kind, text in engine.troubles if kind == "page"] == []


def open_link_and_change(engine: Engine, site: SiteProcess) -> dict:
    """A card link, the word that the pack is the one in it, and another batch size; gives the
    answer that the page has to show in the end."""
    link = card_link(**BATCH)
    engine.goto(f"{site.url}{LOAF_PAGE}#{link}")
    engine.wait_for("document.querySelector('[data-confirm-pack]') !== null", LONG_S)
    engine.wait_for(SETTLED)
    assert engine.value("#f-meat") == "3.2 kg"
    assert not any("Curing salt" in row for row in engine.texts(ROWS))

    engine.click("[data-confirm-pack]")
    confirmed = {"link": link, "confirmed_packs": [BATCH["pack"]]}
    assert_shows(engine, expected(**confirmed))

    engine.fill("#f-meat", "5,5 kg")
    more = expected(**confirmed, fields={"meat": "5,5 kg"})
    assert_shows(engine, more)
    assert expected_weights(more) != expected_weights(expected(**confirmed))
    return more


def test_a_prefilled_link_opens_and_computes_with_the_server_gone(engine, site):
    visit(engine, site)
    leave(engine, site)
    more = open_link_and_change(engine, site)
    # What was typed, and the word about the pack, are kept on the device.
    engine.wait_for("history.state?.curebatch?.fields?.meat === '5,5 kg'")
    engine.reload()
    engine.wait_for("document.getElementById('f-meat').value === '5,5 kg'")
    assert_shows(engine, more)
    assert_no_exception(engine)


@pytest.mark.parametrize("site", ["/"], indirect=True)
def test_a_start_from_the_picture_of_memory_gives_the_same_card(engine, site):
    visit(engine, site)
    # Made at rest, and only where the site has its origin to itself.
    engine.wait_for("document.documentElement.dataset.picture === 'made'", LONG_S)
    leave(engine, site)
    open_link_and_change(engine, site)
    assert engine.evaluate("document.documentElement.dataset.started") == "restored"
    assert_no_exception(engine)


def test_a_recipe_that_was_never_visited_opens_with_the_server_gone(engine, site):
    visit(engine, site)
    leave(engine, site)
    engine.goto(f"{site.url}recipes/{BRISKET}/")
    engine.wait_for("document.getElementById('f-pack') !== null", LONG_S)
    assert engine.text("h1") == "Corned brisket"
    engine.fill("#f-pack", "6.25 %")
    assert_shows(engine, expected(recipe=f"{BRISKET}.1", fields={"pack": "6.25 %"}))
    assert_no_exception(engine)
