"""The picture in the README is the card as it is made today."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from curebatch.views.picture import card_picture
from helpers.card_page import expected
from helpers.runtime import TOP
from sitebuild import picture


def test_it_is_up_to_date_and_the_readme_shows_it():
    assert picture.PLACE.read_text(encoding="utf-8") == picture.drawing(), "run python3 build.py build"
    assert f"({picture.PLACE.relative_to(TOP).as_posix()})" in (TOP / "README.md").read_text(encoding="utf-8")


def test_it_says_every_weight_of_the_card_and_the_strength_beside_the_curing_salt():
    card = expected(recipe=picture.SHOWN["recipe"] + ".1", fields=picture.SHOWN["fields"])["card"]
    drawn = ElementTree.fromstring(picture.drawing())
    words = [element.text for element in drawn.iter("{http://www.w3.org/2000/svg}text")]
    for row in card["amounts"]:
        assert row["weigh"]["text"] in words and any(row["name"] in word for word in words)
    assert any("Curing salt" in word and "6.25 %" in word for word in words)


def test_there_is_none_of_a_card_without_a_dose():
    with pytest.raises(ValueError):
        card_picture(expected(fields={})["card"])
