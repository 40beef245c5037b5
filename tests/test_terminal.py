"""The terminal: exit codes, faults one a line, check with line and key."""

import json
import re

import pytest
from helpers.kitchens import LOAF, RECIPES, recipe_text

from curebatch.__main__ import main


def run(capsys, *arguments):
    code = main(list(arguments))
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize(
    "sets, code, verdicts",
    [(["pack=6.25%"], 0, ("ok", "caution")), (["pack=0.4-0.5 %"], 0, ("ok", "caution")), ([], 4, ("incomplete",)), (["pack=6.25%", "stated=55 g"], 3, ("stop",))],
)
def test_exit_codes_and_the_contracts_json(capsys, sets, code, verdicts):
    got, out, err = run(capsys, "card", "pistachio-pork-loaf", "--json", *(part for pair in sets for part in ("--set", pair)))
    card = json.loads(out)
    assert got == code and card["verdict"] in verdicts and err == ""
    assert {"schema", "verdict", "verdicts", "faults", "amounts", "cure", "messages", "rules_edition"} <= set(card)
    assert (card["cure"] is None) == (code in (3, 4))
    if card["cure"]:
        for key in ("salt_percent", "nitrite_mg_per_kg", "nitrite_ion_mg_per_kg", "nitrate_mg_per_kg"):
            assert set(card["cure"][key]) == {"meat", "mix"} and set(card["cure"][key]["mix"]) == {"low", "nominal", "high"}


def test_faults_come_together_one_a_line(capsys):
    code, out, err = run(capsys, "card", "pistachio-pork-loaf", "--set", "pack=7", "--set", "meat=1,500 g", "--set", "colour=red")
    assert code == 2 and out == "" and len(err.strip().splitlines()) == 3
    assert "(pack)" in err and "(meat)" in err and "colour" in err


def test_convert_answers_the_commonest_start(capsys):
    code, out, _ = run(capsys, "convert", "--set", "found_cure=25 g", "--set", "found_meat=1 kg", "--set", "found_pack=0.5 %", "--set", "found_other=250 g", "--set", "pack=6.25 %", "--set", "fine_scale=0.1 g")
    assert code == 0 and "2.0 g" in out and "23.0 g" in out and "12.5 times" in out and "125.0 mg/kg" in out


def test_no_line_of_text_bears_bare_grams_of_curing_salt(capsys):
    _, out, _ = run(capsys, "card", LOAF, "--set", "pack=6.25 %", "--set", "fine_scale=0.1 g")
    for line in out.splitlines():
        if re.search(r"(?<![0-9.])5\.4 g", line):
            assert "6.25 %" in line


def test_a_file_and_a_link_are_taken_too(capsys):
    code, out, _ = run(capsys, "card", str(RECIPES / f"{LOAF}.toml"), "--set", "pack=6.25 %")
    assert code == 0 and "Pistachio pork loaf" in out
    import curebatch
    from helpers.kitchens import fill_shelf

    fill_shelf()
    link = json.loads(curebatch.answer(json.dumps({"input": {"recipe": LOAF, "fields": {"meat": "3 kg"}}})))["links"]["recipe"]
    code, out, _ = run(capsys, "card", link, "--set", "pack=6.25 %", "--json")
    assert code == 0 and json.loads(out)["amounts"][0]["grams"] == 2250
    code, _, err = run(capsys, "card", link[:-3])
    assert code == 2 and "cut off" in err and len(err.splitlines()) == 1


def test_check_accepts_the_recipe(capsys):
    code, out, _ = run(capsys, "check", str(RECIPES / f"{LOAF}.toml"))
    assert code == 0 and LOAF in out


def test_check_names_line_and_key(capsys, tmp_path):
    broken = tmp_path / "broken.toml"
    text = recipe_text().replace('nitrite_per = "mix"', 'nitrite_pre = "mix"').replace('amount = "250 g"', 'amount = "1,500 g"').replace("revision = 1", 'revision = "one"')
    broken.write_text(text, encoding="utf-8")
    code, _, err = run(capsys, "check", str(broken))
    lines = text.splitlines()
    assert code == 2
    for key, needle in (("targets.nitrite_pre", "nitrite_pre"), ("ingredient.2.amount", '"1,500 g"'), ("revision", "revision =")):
        number = next(i for i, line in enumerate(lines, 1) if needle in line)
        assert any(f"broken.toml, line {number}: {key} " in line for line in err.splitlines()), (key, err)


@pytest.mark.parametrize(
    "old, new, word",
    [
        ('role = "meat"', 'role = "garnish"', "no ingredient is meat"), ('amount = "100 %"', 'amount = "90 %"', "90.0 %"), ('name = "Ice"', 'name = "Pork"', "stands twice"),
        ("schema = 1", "schema = 9", "schema"), ('title = "Trial"', "title = ", "not TOML"), ('method = "ground"', 'method = "smoked"', "smoked products are not covered"), ('kinds = ["pork"]', "kinds = []", "kinds"),
    ],
)
def test_recipes_that_are_refused(capsys, tmp_path, old, new, word):
    broken = tmp_path / "broken.toml"
    text = recipe_text()
    assert old in text
    broken.write_text(text.replace(old, new), encoding="utf-8")
    code, _, err = run(capsys, "check", str(broken))
    assert code == 2 and word in err and "Traceback" not in err


def test_an_unknown_name_and_a_missing_file(capsys):
    assert run(capsys, "card", "nosuch")[0] == 2
    assert run(capsys, "card", "nosuch.toml")[0] == 2
    assert run(capsys, "check", "nosuch.toml")[0] == 2
    assert run(capsys, "card", LOAF, "--set", "pack")[0] == 2


@pytest.mark.parametrize("arguments, code, words", [
    (["2 tsp", "--food", "Sugars, granulated", "--size", "us"], 0, "8.4 g"),
    (["8.4 g", "--food", "Sugars, granulated", "--size", "us"], 0, "2 tsp"),
    (["1 tbsp", "--food", "19335", "--size", "au"], 0, "17.0 g"),
    (["2 tsp", "--food", "curing salt"], 2, "weighed"),
    (["2 tsp", "--food", "unobtainium"], 2, "not in the table"),
    (["a pinch", "--food", "sugar"], 2, "no amount"),
    (["2", "--food", "Sugars, granulated"], 2, "no unit"),
])
def test_spoons_and_grams(capsys, arguments, code, words):
    """USDA SR28: 4.2 g of sugar to a US teaspoon of 4.93 ml; an Australian tablespoon holds 20 ml."""
    got, out, err = run(capsys, "convert", "--spoons", *arguments)
    assert got == code and words in (err if code else out), (out, err)


FOUND = ["--set", "found_cure=25 g", "--set", "found_meat=1 kg", "--set", "found_pack=0.5 %", "--set", "pack=6.25 %"]


@pytest.mark.parametrize("unused, word", [
    (["--set", "nitrite=500 mg/kg"], "(nitrite)"), (["--set", "nitrite_as=NO2-"], "(nitrite_as)"), (["--set", "nitrite_per=meat"], "(nitrite_per)"), (["--set", "salt=9 %"], "(salt)"),
    (["--set", "salt_per=meat"], "(salt_per)"), (["--set", f"recipe={LOAF}"], "recipe="), ([LOAF], f"card {LOAF}"), ([str(RECIPES / f"{LOAF}.toml")], "card "), (["--food", "sugar"], "--spoons"),
    (["--size", "us"], "--spoons"), (["--form", "packed"], "--spoons"), (["--set", "colour=red"], "colour"), (["--set", "oven=steam"], "(oven)"),
])
def test_convert_passes_over_nothing_that_it_was_given(capsys, unused, word):
    assert run(capsys, "convert", *FOUND)[0] in (0, 3)
    code, out, err = run(capsys, "convert", *FOUND, *unused)
    assert code == 2 and out == "" and word in err, err


@pytest.mark.parametrize("unused", [["--set", "pack=6.25 %"], ["--json"], [LOAF]])
def test_nor_does_it_with_spoons(capsys, unused):
    code, out, err = run(capsys, "convert", *unused, "--spoons", "2 tsp", "--food", "Sugars, granulated")
    assert code == 2 and out == "" and unused[-1] in err


@pytest.mark.parametrize("recipe, sets, field", [
    (LOAF, ["state=uncured", "nitrite=90 mg/kg"], "nitrite"), (LOAF, ["state=uncured", "nitrite_as=NO2-"], "nitrite_as"), ("grey-pork-loaf", ["nitrite=104 mg/kg"], "nitrite"),
    ("grey-pork-loaf", ["nitrite_per=mix"], "nitrite_per"), (LOAF, ["found_cure=20 g"], "found_cure"), (LOAF, ["found_salt=5 g"], "found_salt"),
])
def test_a_card_passes_over_nothing_either(capsys, recipe, sets, field):
    code, _, err = run(capsys, "card", recipe, *(part for pair in sets for part in ("--set", pair)))
    assert code == 2 and f"({field})" in err, err
    assert run(capsys, "card", recipe, "--set", f"recipe={recipe}")[0] == 2


def test_an_uncured_link_still_carries_the_recipes_own_target(capsys):
    import curebatch
    from helpers.kitchens import fill_shelf

    fill_shelf()
    link = json.loads(curebatch.answer(json.dumps({"input": {"recipe": LOAF, "fields": {"state": "uncured"}}})))["links"]["recipe"]
    assert "nitrite" in link and run(capsys, "card", link)[0] == 0
