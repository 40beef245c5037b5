"""Allergens by name and by row, and what only looks like one."""


import pytest

from curebatch.batch.allergens import _sources, groups, of_batch, of_ingredient, on_list
from curebatch.batch.foods import all_foods, find
from curebatch.words import has


def sources(name, how=("name", "row")):
    return {named.source for named in of_ingredient(name) if named.how in how}


def test_the_lists_have_fourteen_and_nine():
    assert len(groups("eu")) == 14 and len(groups("us")) == 9
    assert set(groups("us")) - set(groups("eu")) == {"wheat"}


@pytest.mark.parametrize(
    "name, found",
    [
        ("Pistachios, shelled", {"pistachio"}), ("Milk powder", {"milk"}), ("Skimmed-milk powder", {"milk"}), ("Rusk", {"wheat"}), ("Fresh bread crumbs", {"wheat"}),
        ("Celery salt", {"celery"}), ("Mustard seed", {"mustard"}), ("Egg whites", {"egg"}), ("Soya protein", {"soy"}), ("Anchovy paste", {"fish"}),
        ("Peanut butter", {"peanut"}), ("Almond milk", {"almond"}), ("Malt vinegar", {"barley"}), ("Lupin flour", {"lupin"}), ("Tahini", {"sesame"}),
        ("Sodium metabisulphite", {"sulphites"}), ("Shrimps", {"crustaceans"}), ("Mussels", {"molluscs"}), ("Oat flour", {"oats"}), ("Pine nuts", {"pine_nut"}),
        ("Sodium caseinate", {"milk"}), ("Cream", {"milk"}), ("Worcester sauce", set()),
        ("Dijon", {"mustard"}), ("Pralines", {"hazelnut"}), ("Hefeweizen", {"wheat", "barley"}), ("Pilsner", {"barley"}), ("Porter", {"barley"}), ("Witbier", {"wheat", "barley"}), ("Mayo", {"egg"}), ("Paneer", {"milk"}), ("Halloumi", {"milk"}), ("Mascarpone", {"milk"}),
        ("Tahin", {"sesame"}), ("Tahina", {"sesame"}), ("Sourdough", {"wheat"}), ("Pretzel", {"wheat"}), ("Pretzels, crushed", {"wheat"}), ("Muesli", {"oats"}), ("Granola", {"oats"}), ("Bottarga", {"fish"}), ("Crumbs, dry", {"wheat"}), ("Teriyaki sauce", {"soy"}),
    ],
)
def test_names_that_give_it_away(name, found):
    assert sources(name) == found


@pytest.mark.parametrize(
    "name",
    ["Nutmeg", "Coconut milk", "Buckwheat flour", "Rice flour", "Cream of tartar", "Butternut squash", "Butter beans", "Eggplant", "Crab apple", "Oyster mushrooms", "Water chestnut", "Milk-fed veal", "Pork shoulder", "Sweetbreads", "Maltodextrin", "Cider vinegar", "Ginger beer", "Rice crumbs", "Porterhouse trim"],
)
def test_names_that_only_look_like_it(name):
    if name == "Milk-fed veal":
        assert "milk" not in sources(name)
    else:
        assert sources(name) == set()


@pytest.mark.parametrize("name, maybe", [("Curry powder", {"celery", "mustard"}), ("Stock cube", {"celery", "mustard"}), ("White wine", {"sulphites"}), ("Flour", {"wheat"}), ("Pesto", {"milk", "nuts", "pine_nut", "cashew"}), ("Balsamic vinegar", {"sulphites"}), ("Tapenade", {"fish"})])
def test_where_only_the_pack_can_tell(name, maybe):
    assert sources(name) == set()
    assert sources(name, ("possible",)) == maybe


def test_every_marked_row_is_found_by_its_name_too():
    for food in all_foods():
        named = {n.source for n in of_ingredient(food.name) if n.how == "name"}
        assert named == set(food.allergens), food.name


def test_a_row_is_surer_than_a_name():
    (named,) = of_ingredient("Green crunch", find("12151"))
    assert (named.source, named.how, named.eu, named.us) == ("pistachio", "row", "nuts", "nuts")


def test_the_two_lists_differ_where_they_do():
    found = of_batch([("Barley", None), ("Pine nuts", None), ("Mustard", None), ("Plain flour", None), ("Curry powder", None)])
    eu = {row.group: row for row in on_list(found, "eu")}
    us = {row.group: row for row in on_list(found, "us")}
    assert set(eu) == {"gluten", "mustard", "celery"} and set(us) == {"nuts", "wheat"}
    assert eu["gluten"].sources == ("wheat", "barley") or eu["gluten"].sources == ("barley", "wheat")
    assert eu["mustard"].sure and eu["mustard"].ingredients == ("Mustard",)
    assert not eu["celery"].sure


def test_three_hundred_names_hide_none():
    found = of_batch([(f"Spice blend number {n}", None) for n in range(299)] + [("Mustard seed", None)])
    assert [row.group for row in on_list(found, "eu") if row.sure] == ["mustard"]


def test_every_group_and_source_has_words():
    listed = {group for which in ("eu", "us") for group in groups(which)}
    assert not {group for group in listed if not has(f"batch.allergen.group.{group}")}
    assert not {row.id for row in _sources() if not has(f"batch.allergen.source.{row.id}")}
    assert {row.eu for row in _sources()} - {""} == set(groups("eu")) and {row.us for row in _sources()} - {""} == set(groups("us"))
