"""Signs that nobody sees: none of them enters with a recipe's words, and no word hides behind one."""

from __future__ import annotations

import json
import sys
import unicodedata

import pytest
from helpers.kitchens import card_for, recipe_text

from curebatch.day import log
from curebatch.intake.own import read_own
from curebatch.intake.recipe import read_recipe
from curebatch.intake.signs import spoken, unseen

STEP = '[[step]]\ntext = "Chop {pork} with {curing_salt}."\n'
CHANGES = 'changes = ["less mace"]\n'
# What stands in a recipe as text, and where a sign is put into it.
PLACES = {"title": 'title = "Trial"', "ingredient.1.name": 'name = "Pork"', "step.1.text": "Chop {pork}", "changes": '"less mace"'}
#: U+202E shows the digits behind it from right to left: 5.4 g is read as 4.5 g.
SIGNS = "\u202e\u202d\u2066\u2069\u200b\u00ad\ufeff\u2060"


def with_sign(place: str, sign: str) -> str:
    text = recipe_text(extra=STEP).replace('title = "Trial"', f'title = "Trial"\n{CHANGES}')
    assert text.count(PLACES[place]) == 1
    return text.replace(PLACES[place], f"{PLACES[place][:-2]}{sign}{PLACES[place][-2:]}")


@pytest.mark.parametrize("sign", SIGNS, ids=[f"{ord(sign):04X}" for sign in SIGNS])
@pytest.mark.parametrize("place", PLACES)
def test_none_enters_with_a_recipe(place, sign):
    assert read_recipe(with_sign(place, ""), "x.toml")[0]
    recipe, faults = read_recipe(with_sign(place, sign), "x.toml")
    (wrong,) = [fault for fault in faults if fault.code == "recipe_sign"]
    assert recipe is None and wrong.field == place and f"U+{ord(sign):04X}" in wrong.text and sign not in wrong.text
    assert f"U+{ord(sign):04X}" in read_own(with_sign(place, sign), ()).faults[0].text


def test_every_sign_that_turns_the_writing_or_hides_is_known():
    kept = set("\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2\u200c\u200d\u200e\u200f\U000110bd\U000110cd")
    for code in range(sys.maxunicode + 1):
        sign = chr(code)
        if unicodedata.category(sign) in ("Cc", "Cf", "Zl", "Zp", "Cs") and sign not in "\t\n\r" and sign not in kept and not 0x13430 <= code <= 0x1BCAF and not 0x1D173 <= code <= 0x1D17A:
            assert unseen(f"a{sign}b"), f"U+{code:04X}"


def test_other_scripts_and_pictures_stay():
    for text in ("Käse, Œufs, Čaj", "حليب\u200cها", "👩\u200d🍳 loaf", "\u05d1\u05e9\u05e8\u200f 1", "one\ttwo\r\nthree"):
        assert unseen(text) is None


@pytest.mark.parametrize("name", ["sa\u200dlt", "ｓａｌｔ", "Cur\u200cing mix", "ｃｕｒｅ"])
def test_no_salt_and_no_cure_hides_behind_one(name):
    recipe, faults = read_recipe(recipe_text(extra=f'[[ingredient]]\nid = "thing"\nname = "{name}"\nrole = "spice"\namount = "20 g"\n'), "x.toml")
    assert recipe is None and {fault.code for fault in faults} & {"recipe_cure_named", "recipe_salt_named"}
    assert spoken(name).isascii()


def test_no_log_brings_a_name_that_turns_the_weight_beside_it():
    card = card_for(pack="6.25 %", fine_scale="0.1 g")
    made = log.begin("batch-1", "2027-03-27T18:00Z", card, "", {}, "b")
    assert log.read(json.dumps(made))[0]
    made["amounts"][0]["name"] += "\u202e"
    assert log.read(json.dumps(made))[0] is None
