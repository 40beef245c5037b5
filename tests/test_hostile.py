"""Ways in which an unsafe or misleading answer was once to be had: each stays shut."""

import json
import re

import pytest
from helpers.kitchens import LOAF, RECIPES, card_for, fill_shelf, found_card, recipe_text

import curebatch
from curebatch import entry, shelf
from curebatch.day import log
from curebatch.fields import FIELDS
from curebatch.intake.ingredients import MOST_NAME
from curebatch.intake.link import check_of
from curebatch.intake.recipe import read_recipe
from curebatch.words import speaking


def codes(card):
    return {message["code"] for message in card["messages"]}


def link_of(*pairs):
    pairs = [("v", "1"), *pairs]
    return "&".join(f"{k}={v.replace('%', '%25').replace(' ', '+')}" for k, v in [*pairs, ("check", check_of(pairs))])


def answer(**given):
    fill_shelf()
    return json.loads(curebatch.answer(json.dumps({"id": 1, "input": given})))


def test_a_found_recipe_that_is_poison_is_not_passed_on():
    card = found_card(found_cure="25 g", found_meat="1 kg", found_pack="6.25 %", found_salt="5 g", pack="6.25 %", fine_scale="0.1 g")
    assert card["verdict"] == "stop" and "found_far_over" in codes(card) and card["cure"] is None
    assert card["convert"]["sentence"] == "" and "over the limit" in card["convert"]["as_written"]["text"]


def test_a_found_recipe_a_little_over_is_lowered_with_a_caution_and_not_passed_on():
    card = found_card(found_cure="40 g", found_meat="1 kg", found_pack="0.5 %", found_other="250 g", pack="6.25 %", fine_scale="0.1 g")
    assert card["verdict"] == "caution" and {"found_over", "dose_lowered"} <= codes(card) and card["convert"]["sentence"] == ""


@pytest.mark.parametrize(
    "target, more, stops",
    [
        ("1000 mg/kg", {}, True), ("1040 mg/kg", {"region": "us"}, True), ("313 mg/kg", {"region": "us", "nitrite_per": "meat"}, True),
        ("312 mg/kg", {"region": "us", "nitrite_per": "meat"}, False), ("160 mg/kg", {"region": "eu", "nitrite_as": "NO2-"}, False), ("161 mg/kg", {"region": "eu", "nitrite_as": "NO2-"}, True),
        ("239 mg/kg", {"region": "eu"}, False), ("240 mg/kg", {"region": "eu"}, True),
    ],
)
def test_a_target_over_twice_a_limit_is_a_slip_and_nothing_is_worked_out(target, more, stops):
    """Two limits by hand: 312.5 mg/kg of meat; 160 mg/kg of the ion, which is 239.95 of the salt, of the whole mix."""
    for pack in ({"pack": "6.25 %"}, {}, {"pack": "6.25 %", "stated": "3 g"}):
        card = card_for(**{"nitrite": target, "nitrite_as": "NaNO2", "nitrite_per": "mix", "fine_scale": "0.1 g"} | more | pack)
        assert ("target_far_over" in codes(card)) is stops, (pack, card["messages"])
        if stops:
            assert card["verdict"] == "stop" and card["cure"] is None and not card["strengths"]
            assert not {"curing_salt", "salt"} & {row["role"] for row in card["amounts"]}


@pytest.mark.parametrize("recipe, target, stops", [("corned-brisket.1", "401 mg/kg", True), ("corned-brisket.1", "400 mg/kg", False), ("back-bacon.1", "401 mg/kg", True), ("picnic-ham.1", "401 mg/kg", True), ("picnic-ham.1", "400 mg/kg", False)])
def test_so_it_is_with_a_whole_cut(recipe, target, stops):
    card = card_for(recipe, pack="6.25 %", fine_scale="0.1 g", region="us", nitrite=target, nitrite_as="NaNO2", nitrite_per="meat")
    assert ("target_far_over" in codes(card)) is stops, card["messages"]


def test_so_it_is_with_the_batter_beside_it():
    shelf.put({LOAF: (RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8"), "trial.1": recipe_text(nitrite="1000 mg/kg")})
    given = {"page": "recipe", "recipe": LOAF, "fields": {"pack": "6.25 %", "fine_scale": "0.1 g", "beside": "trial.1", "beside_mix": "1 kg"}}
    card = entry.card_of(entry.read(given))
    assert card["verdict"] == "stop" and "target_far_over" in codes(card) and card["cure"] is None


def test_less_than_meant_is_never_called_too_little_while_it_is_over():
    card = found_card(found_cure="20 g", found_meat="1 kg", found_pack="1 %", found_other="0 g", pack="0.9 %", fine_scale="0.1 g")
    assert "over the limit" in card["convert"]["as_written"]["text"]


@pytest.mark.parametrize("label, code", [("62.5 %", "found_pack_too_strong"), ("4 %", "found_pack_doubtful")])
def test_the_authors_pack_is_doubted_too(label, code):
    assert code in codes(found_card(found_cure="2 g", found_meat="1 kg", found_pack=label, pack="6.25 %", fine_scale="0.1 g"))


def test_a_stated_dose_is_printed_as_it_is_judged():
    card = card_for(pack="6.25 %", meat="2.65 kg", region="us", stated="5.5 g")
    assert next(row for row in card["amounts"] if row["role"] == "curing_salt")["weigh"]["text"] == "5.5 g"


@pytest.mark.parametrize("step", ["1/3 oz", "2/3 g"])
def test_a_scale_whose_step_no_display_shows_is_refused(step):
    card = card_for(pack="6.25 %", fine_scale=step)
    assert [fault["code"] for fault in card["faults"]] == ["scale_step"]


def test_a_confirmation_in_a_link_confirms_nothing():
    given = answer(page="recipe", recipe=LOAF, link=link_of(("recipe", LOAF), ("pack", "9 %"), ("pack_check", "9 %")))
    assert given["card"]["cure"] is None and given["faults"]


def test_a_confirmation_is_of_the_label_with_what_it_counts():
    link = link_of(("recipe", LOAF), ("region", "eu"), ("pack", "6.25%"), ("pack_as", "KNO2"), ("fine_scale", "0.1g"))
    assert answer(page="recipe", recipe=LOAF, link=link, confirmed_packs=["6.25 %"])["card"]["cure"] is None
    assert answer(page="recipe", recipe=LOAF, link=link, confirmed_packs=["6.25 % KNO2"])["card"]["cure"]
    half = link_of(("recipe", LOAF), ("pack_as", "KNO2"))
    assert answer(page="recipe", recipe=LOAF, link=half, fields={"pack": "6.25 %"}, confirmed_packs=["6.25 %"])["card"]["cure"] is None


@pytest.mark.parametrize("region", ["au", "nz", "codex"])
def test_a_rule_of_our_own_is_no_regions_limit(region):
    own = card_for("back-bacon.1", pack="6.25 %", fine_scale="0.1 g", nitrite="195 mg/kg", region=region)
    strictest = card_for("back-bacon.1", pack="6.25 %", fine_scale="0.1 g", nitrite="195 mg/kg")
    assert own["cure"]["grams"] == strictest["cure"]["grams"]


def test_uncured_is_for_ground_meat_and_takes_no_stated_dose():
    assert [f["code"] for f in card_for("back-bacon.1", state="uncured")["faults"]] == ["not_for_method"]
    assert [f["code"] for f in card_for(state="uncured", stated="500 g", pack="6.25 %")["faults"]] == ["stated_uncured"]
    steps = " ".join(step["text"] for step in card_for(state="uncured")["steps"])
    assert "depends on your pack" not in steps and "no curing salt" in steps
    assert [f["code"] for f in card_for(meat="2.4 kg", bone="1.5 kg", bowl="500 g", state="uncured")["faults"]] == ["not_for_method"]


@pytest.mark.parametrize("name", ["Curing salt 6.25 %", "Sodium nitrite", "Saltpetre", "Salt", "Sea salt", "Instant cure"])
def test_no_salt_and_no_cure_hides_among_the_ingredients(name):
    extra = f'[[ingredient]]\nname = "{name}"\nrole = "spice"\namount = "20 g"\n'
    recipe, faults = read_recipe(recipe_text(extra=extra), "x.toml")
    assert recipe is None and {fault.code for fault in faults} & {"recipe_cure_named", "recipe_salt_named"}


@pytest.mark.parametrize("name, refused", [("Smoked bacon", True), ("Cooked ham", True), ("Salted back fat", True), ("Fresh ham", False), ("Pork hamburger trim", False)])
def test_meat_that_is_already_cured_is_refused_by_name(name, refused):
    recipe, faults = read_recipe(recipe_text().replace('name = "Pork"', f'name = "{name}"'), "x.toml")
    assert [fault.code for fault in faults] == (["recipe_already_cured"] if refused else [])


@pytest.mark.parametrize("figure", ["core", "hold", "salt", "curing_salt"])
def test_no_ingredient_takes_the_name_of_a_figure(figure):
    recipe, faults = read_recipe(recipe_text(extra=f'[[ingredient]]\nid = "{figure}"\nname = "Thing"\nrole = "spice"\namount = "20 g"\n'), "x.toml")
    assert recipe is None and faults


@pytest.mark.parametrize("core", ["20 °C", "70 °F", "160 °C"])
def test_a_core_in_the_wrong_unit_is_caught(core):
    recipe, faults = read_recipe(recipe_text(extra=f'[cooking]\ncore = "{core}"\n'), "x.toml")
    assert recipe is None and "cooking.core" in faults[0].text


def test_two_ingredients_of_one_shown_name_keep_their_own_weights():
    extra = '[[ingredient]]\nid = "more-pork"\nname = "Pork"\nrole = "garnish"\namount = "20 g"\n[[step]]\ntext = "{more-pork}, then {pork}"\n'
    recipe, faults = read_recipe(recipe_text(extra=extra), "x.toml")
    assert recipe, faults
    card = entry.card_of(entry.read({"fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe))
    assert card["steps"][0]["text"] == "20.0 g of Pork, then 1000 g of Pork"


@pytest.mark.parametrize(
    "fields", [{"pack": "12 %"}, {"pack": "6.25 %", "stated": "54 g"}, {"pack": "6.25 %", "pack_nitrate": "4 %"}, {"pack": "6.25 %", "meat": "20 g", "scale": "5 g"}]
)
def test_a_stop_names_no_grams_of_curing_salt(fields):
    card = card_for(**fields)
    assert card["verdict"] == "stop" and card["strengths"] == []
    shown = json.dumps([card["steps"], card["amounts"], card["strengths"]])
    assert "curing_salt" not in shown and "% sodium nitrite" not in shown


def test_a_short_pickle_takes_its_doses_back():
    card = card_for("picnic-ham.1", pack="6.25 %", pump="40 %", nitrite="500 mg/kg")
    assert card["verdict"] == "stop" and not codes(card) & {"dose_lowered", "scale_coarse", "way_finer", "way_bigger", "way_preblend"}


def test_as_written_is_not_said_where_there_is_no_dose_unless_as_a_warning():
    card = found_card(found_cure="20 g", found_meat="1 kg", found_pack="0.5 %", pack="0.5 %", pack_nitrate="4 %")
    assert card["verdict"] == "stop" and card["convert"]["as_written"] is None


def test_pounds_and_ounces_carry_a_value_in_their_unit():
    weigh = card_for(pack="6.25 %", scale="0.1 oz", fine_scale="0.1 g", meat="2 lb 4 oz")["amounts"][0]["weigh"]
    assert weigh == {"value": "27.0", "unit": "oz", "text": "1 lb 11.0 oz", "also": ""}


def test_a_target_of_almost_nothing_is_no_ok():
    assert card_for(pack="6.25 %", fine_scale="0.1 g", nitrite="1 mg/kg")["verdict"] != "ok"
    assert card_for(pack="6.25 %", fine_scale="0.1 g", nitrite="20 mg/kg")["verdict"] == "caution"


@pytest.mark.parametrize("typed", ["11/2 kg", "½2 kg", "1¼5 kg", "3 gr"])
def test_typed_amounts_that_two_people_read_differently(typed):
    assert [fault["field"] for fault in card_for(meat=typed)["faults"]] == ["meat"]


def test_a_pack_in_grams_per_kilo_is_shown_in_per_cent():
    card = card_for(pack="5 g/kg", fine_scale="0.1 g")
    assert "0.5 %" in card["cure"]["name_text"]
    assert "0.5 %" in answer(page="recipe", recipe=LOAF, fields={"pack": "5 g/kg"})["sections"]["amounts"]


@pytest.mark.parametrize("fields", [{"scale": "100 g", "meat": "40 g"}, {"scale": "100 g", "meat": "60 g", "pack": "6.25 %"}])
def test_a_scale_too_coarse_for_the_meat_is_said(fields):
    assert card_for(**fields)["verdict"] in ("stop", "incomplete")


@pytest.mark.parametrize("share", ["88 %", "87.9896 %", "87.98 %", "89 %"])
def test_salt_and_shares_that_fill_the_mix_stop(share):
    text = recipe_text(salt="12 %", water=0, extra=f'[[ingredient]]\nname = "Filler"\nrole = "binder"\namount = "{share}"\nper = "mix"\n')
    recipe, faults = read_recipe(text, "x.toml")
    assert recipe, faults
    for fields in ({"state": "uncured"}, {"pack": "6.25 %"}):
        card = entry.card_of(entry.read({"fields": fields}, recipe))
        assert card["verdict"] == "stop" and card["cure"] is None


def test_water_as_a_share_of_the_pickle_does_not_break_the_card():
    fill_shelf()
    from curebatch import shelf

    text = shelf._TEXTS["picnic-ham.1"].replace('amount = "12 %"\nper = "meat"', 'amount = "80 %"\nper = "mix"').replace('amount = "0.6 %"\nper = "meat"', 'amount = "4 %"\nper = "mix"')
    recipe, faults = read_recipe(text, "x.toml")
    assert recipe, faults
    assert entry.card_of(entry.read({"fields": {"pack": "0.5 %"}}, recipe))["verdict"] == "stop"


@pytest.mark.parametrize("line", ["title" + ".a" * 3000 + " = 1", "revision = " + "9" * 5000, "revision = 0x" + "f" * 5000])
def test_recipe_files_made_to_break_the_reader(line):
    text = "\n".join(other for other in recipe_text().splitlines() if not other.startswith(line[:5]))
    recipe, faults = read_recipe(line + "\n" + text, "x.toml")
    assert recipe is None and faults


def test_a_file_of_faults_is_quick():
    recipe, faults = read_recipe("".join(f"a{i} = 1\n" for i in range(8000)), "x.toml")
    assert recipe is None and len(faults) <= 21


@pytest.mark.parametrize(
    "request_", [[], None, 3, {"input": 3}, {"input": {"fields": [1]}}, {"input": {"recipe": 5}}, {"input": {"recipe": ["a"]}}, {"want": 3}, {"input": {"confirmed_packs": 7}},
                 {"input": {"link": "\ud800=1"}}, {"input": {"fields": {"pack": None, "meat": 5, "salt": ["x"]}}}, {"input": {"page": {}, "link": {}}}]
)
def test_no_request_breaks_the_entry(request_):
    fill_shelf()
    card = json.loads(curebatch.answer(json.dumps(request_)))["card"]
    assert card["verdict"] == "incomplete" and not card["cure"]


def test_hostile_text_in_every_field_is_a_fault_and_never_markup():
    for text in ('<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', "javascript:alert(1)", "{{7*7}}", "\u202e6.25 %", "x" * 100_000, "__proto__"):
        given = answer(page="recipe", recipe=LOAF, fields={field.key: text for field in FIELDS if field.is_quantity})
        assert given["card"]["cure"] is None and len(given["faults"]) >= 10
        html = "".join(given["sections"].values())
        assert "<script" not in html and "<img" not in html and "\u202e" not in html and len(html) < 60_000


def with_line(name, extra="", amount="20 g", role="garnish"):
    recipe, faults = read_recipe(recipe_text(extra=f'[[ingredient]]\nname = "{name}"\nrole = "{role}"\namount = "{amount}"\n{extra}'), "x.toml")
    assert recipe, faults
    return entry.card_of(entry.read({"fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe))


@pytest.mark.parametrize(
    "name",
    [
        "Soy sauce", "White miso", "Fish sauce", "Stock cube", "Veal stock", "Pickle brine", "Olives", "Anchovies", "Capers", "Parmesan, grated", "Cheddar cheese", "Gherkins", "Dijon mustard", "Salted peanuts", "Worcester sauce", "Sojasoße", "Fischsauce",
        "Gemüsebrühe", "Oliven", "Sardellenfilets", "Kapern", "Bergkäse", "Gewürzgurken", "Süßer Senf", "Gesalzene Butter",
    ],
)  # fmt: skip
def test_salt_that_nobody_counts_is_named(name):
    told = [m for m in with_line(name)["messages"] if m["code"] == "salt_uncounted"]
    assert [m["severity"] for m in told] == ["caution"] and name in told[0]["text"]
    assert "salt_uncounted" not in codes(with_line(name, 'salt = "5 %"\n')) and "salt_uncounted" not in codes(with_line(name, 'salt = "0 %"\n'))


@pytest.mark.parametrize("name", ["Pistachios, unsalted", "Olive oil", "Olivenöl", "Mustard seed", "Senfkörner", "Mustard powder", "Cream cheese", "Parsley", "Stock cube, unsalted", "Ungesalzene Butter", "Capsicum"])
def test_what_brings_no_salt_is_not_named(name):
    assert "salt_uncounted" not in codes(with_line(name))


def test_salt_that_the_food_table_knows_is_said_with_its_share():
    row = 'food = "Olives, pickled, canned or bottled, green"\n'
    told = [m for m in with_line("Olives", row, "100 g")["messages"] if m["code"] in ("salt_of_table", "salt_uncounted")]
    # 1556 mg of sodium in 100 g, times 2.5, on a kilo of meat.
    assert [(m["code"], m["severity"]) for m in told] == [("salt_of_table", "note")] and "0.4 %" in told[0]["text"]
    assert not {"salt_of_table", "salt_uncounted"} & codes(with_line("Olives", row, "10 g"))
    of_mix = [m["text"] for m in with_line("Olives", row + 'per = "mix"\n', "8 %")["messages"] if m["code"] == "salt_of_table"]
    assert "0.4 %" in of_mix[0], "8 % of the mix is 110 g for each kilo of meat"


WHOLE = (RECIPES / "back-bacon.1.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "old, new",
    [
        ('name = "Pork loin, boneless, skin off"', 'name = "Pork belly, skin off"'), ('cut = "loin, boneless"', 'cut = "belly"'), ('title = "Back bacon"', 'title = "Streaky bacon"'), ('cut = "loin, boneless"', 'cut = "Schweinebauch"'),
        ('name = "Pork loin, boneless, skin off"', 'name = "Bauchfleisch"'), ('fat = "10 %"', 'food = "Pork, fresh, belly, raw"'), ('cut = "loin, boneless"', 'cut = "Wammerl"'),
    ],
)  # fmt: skip
def test_what_is_called_belly_is_belly(old, new):
    assert old in WHOLE
    recipe, faults = read_recipe(WHOLE.replace(old, new), "x.toml")
    assert recipe is None and [(fault.field, fault.code) for fault in faults] == [("belly", "recipe_belly")] and "belly = true" in faults[0].text
    assert read_recipe(WHOLE.replace(old, new).replace("belly = false", "belly = true"), "x.toml")[0].belly


@pytest.mark.parametrize("cut", ["loin, without belly", "Rücken ohne Bauch", "back", "Bauchige Keule", "Nacken"])
def test_what_is_no_belly_stays_none(cut):
    assert read_recipe(WHOLE.replace('cut = "loin, boneless"', f'cut = "{cut}"'), "x.toml")[0]


@pytest.mark.parametrize("name", ["Pork shoulder, bone-in", "Pork loin with bone", "Loin on the bone", "Schulter mit Knochen", "Nacken am Knochen", "Keule, nicht ausgelöst", "Pork hock", "Veal shank, fresh", "Spare ribs", "Pork knuckles", "Eisbein", "Schweinshaxe", "Schälrippen"])
@pytest.mark.parametrize("ref, old", [("picnic-ham.1", 'name = "Pork shoulder"'), ("pistachio-pork-loaf.1", 'name = "Pork shoulder, lean"')])
def test_a_bone_in_the_name_is_asked_for_on_the_card(ref, old, name):
    text = (RECIPES / f"{ref}.toml").read_text(encoding="utf-8")
    recipe, faults = read_recipe(text.replace(old, f'name = "{name}"'), "x.toml")
    assert recipe, faults
    said = [m for m in entry.card_of(entry.read({"fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe))["messages"] if m["code"] == "bone_named"]
    assert [m["severity"] for m in said] == ["caution"] and name in said[0]["text"]


def test_a_bone_that_was_weighed_is_asked_for_no_more():
    text = (RECIPES / "picnic-ham.1.toml").read_text(encoding="utf-8").replace('cut = "shoulder"', 'cut = "shoulder, bone-in"')
    recipe, _ = read_recipe(text, "x.toml")
    given = {"pack": "6.25 %", "fine_scale": "0.1 g"}
    assert "bone_named" in codes(entry.card_of(entry.read({"fields": given}, recipe)))
    assert "bone_named" not in codes(entry.card_of(entry.read({"fields": {**given, "bone": "300 g"}}, recipe)))


@pytest.mark.parametrize("name", ["Pork loin, boneless", "Rücken ohne Knochen", "Schulter, ausgelöst", "Bone broth", "Pork hock, boned", "Eisbein, ausgelöst", "Shank, boneless", "Short rib meat", "Rib eye"])
def test_what_has_no_bone_is_not_asked_for_it(name):
    recipe, _ = read_recipe((RECIPES / "picnic-ham.1.toml").read_text(encoding="utf-8").replace('cut = "shoulder"', f'cut = "{name}"'), "x.toml")
    assert "bone_named" not in codes(entry.card_of(entry.read({"fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe)))


def test_a_missing_kind_of_meat_is_said_once():
    for text in (recipe_text().replace('kinds = ["pork"]\n', ""), recipe_text().replace('kinds = ["pork"]', 'kinds = "pork"'), recipe_text().replace('kinds = ["pork"]', "kinds = []"), recipe_text().replace('["pork"]', '["fish"]')):
        assert [fault.field for fault in read_recipe(text, "x.toml")[1]] == ["kinds"]


@pytest.mark.parametrize("key, line", [("food", 'role = "spice"\namount = "2 g"\nfood = "Qzxv"\n'), ("amount", 'role = "spice"\namount = "2 tsp"\n')])
@pytest.mark.parametrize("language", ["en", "de"])
def test_what_has_nothing_near_to_it_names_nothing(key, line, language):
    with speaking(language):
        _, faults = read_recipe(recipe_text(extra=f'[[ingredient]]\nid = "odd"\nname = "Qzxv"\n{line}').replace('kinds = ["pork"]', 'kinds = ["pork"]\nspoons = "metric"'), "x.toml")
    assert [fault.field for fault in faults] == [f"ingredient.3.{key}"] and not re.search(r": ?\.|: $", faults[0].text) and "Qzxv" in faults[0].text


def test_a_name_is_no_longer_than_a_log_keeps():
    line = '[[ingredient]]\nid = "long"\nname = "{}"\nrole = "spice"\namount = "2 g"\n'
    recipe, faults = read_recipe(recipe_text(extra=line.format("a" * MOST_NAME)), "x.toml")
    assert recipe, faults
    card = entry.card_of(entry.read({"fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe))
    assert log.read(log.write(log.begin("one", "2026-11-28T10:00:00Z", card, "", {}, "b", "")))[1] == []
    _, faults = read_recipe(recipe_text(extra=line.format("a" * (MOST_NAME + 1))), "x.toml")
    assert [(fault.field, fault.code) for fault in faults] == [("ingredient.3.name", "recipe_text_long")] and "300" in faults[0].text
