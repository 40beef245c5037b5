"""What is written is read back, and a recipe written anew makes the same card."""

from __future__ import annotations

import tomllib

import pytest
from helpers.runtime import TOP
from hypothesis import given
from hypothesis import strategies as st

from curebatch.intake.recipe import read_recipe
from curebatch.intake.recipe_file import data_of, write_recipe

RECIPES = sorted((TOP / "site" / "recipes").glob("*.toml"))

key = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12)
plain = st.text(st.characters(codec="utf-8"), max_size=30) | st.integers(-(2**60), 2**60) | st.booleans()
table = st.dictionaries(key, plain | st.lists(plain, max_size=3), max_size=4)


@given(
    st.fixed_dictionaries(
        {"title": plain, "kinds": st.lists(st.text(st.characters(codec="utf-8"), max_size=8), max_size=3)},
        optional={"targets": table, "batch": table, "ingredient": st.lists(table, min_size=1, max_size=3), "step": st.lists(table, min_size=1, max_size=2)},
    )
)
def test_what_is_written_is_read_back(data):
    assert tomllib.loads(write_recipe(data)) == data


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_each_recipe_written_anew_is_the_same_recipe(path):
    text = path.read_text("utf-8")
    written = write_recipe(data_of(text))
    assert read_recipe(written, path.name) == read_recipe(text, path.name)


def test_half_a_sign_is_no_reason_to_lose_the_rest():
    assert data_of(write_recipe({"title": "a\ud800b"}))["title"] == "a?b"


def test_what_is_no_file_is_none():
    assert data_of("= = =") is None
