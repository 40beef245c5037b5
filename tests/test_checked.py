"""What is published passes the checkers that others made: HTML, and the data for search engines."""

from __future__ import annotations

import pytest
from curebatch.views import html, sheet
from curebatch.views.recipe_jsonld import recipe_jsonld
from helpers import handed
from helpers.checkers import html_errors, schema_org_errors
from helpers.runtime import built_site

WHERE = {"url": "https://example.org/recipes/x/", "picture": "https://example.org/recipes/x/preview.png", "published": "2026-11-25", "modified": "2026-12-03"}
LINK = "https://example.org/recipes/x/#v=1"


@pytest.mark.site
def test_every_page_of_the_site_passes_the_nu_checker():
    pages = sorted(built_site().rglob("*.html"))
    assert {path.parent.name for path in pages} >= {"_", "own", "day", "found", "pistachio-pork-loaf"}
    assert not html_errors(pages)


def test_what_is_laid_into_a_page_later_passes_the_nu_checker(tmp_path):
    """Cards with and without a dose, the sheet, the label, the question about a link."""
    rows = [{"label": "Meat", "had": "5 kg", "says": "3 kg"}]
    for number, (name, card) in enumerate(handed.cards()):
        parts = [f"<section>{inner}</section>" for inner in html.sections(card, (), {"card": "v=1"}).values()]
        parts += [sheet.sheet(card, link=LINK, date="2026-11-25"), sheet.label_html(card), html.replaced(rows)]
        for part, inner in enumerate(("".join(parts[:-3]), *parts[-3:])):
            # Its heading is the page's; a part begins below it.
            head = "" if "<h1" in inner else "<h1>A page</h1>"
            (tmp_path / f"{number}-{part}.html").write_text(f"<!doctype html><html lang=\"en\"><head><title>{name}</title></head><body><main>{head}{inner}</main></body></html>", encoding="utf-8")
    assert not html_errors(sorted(tmp_path.iterdir()))


def test_the_nu_checker_finds_what_is_wrong(tmp_path):
    page = tmp_path / "wrong.html"
    page.write_text('<!doctype html><html lang="en"><head><title>x</title></head><body><p id="a"><p id="a"><button><a href="#">x</a></button></body></html>', encoding="utf-8")
    errors = html_errors([page])
    assert len(errors) >= 2 and all("wrong.html:1" in error for error in errors)


def test_the_data_for_search_engines_is_what_schema_org_has(tmp_path):
    recipes = [recipe_jsonld(card, **more) for _, card in handed.cards() for more in ({}, WHERE)]
    recipes = [data for data in recipes if data]
    wrong = [
        {**recipes[0], "grams": "5 g"},
        {**recipes[0], "recipeIngredient": [{"amount": 5}]},
        {**recipes[0], "author": {"@type": "Organization", "name": 5}},
        {**recipes[0], "recipeInstructions": [{"@type": "HowToStep", "step": "x"}]},
    ]
    errors = schema_org_errors([*recipes, *wrong], tmp_path)
    # Line 1 is the import; the right ones come first.
    assert [int(error[1:].split(",")[0]) for error in errors] == [2 + len(recipes) + number for number in range(len(wrong))], errors
