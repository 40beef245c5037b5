"""A recipe of the cook's own: from a form, a file or a link to a card, and back to its file and its links."""

import json
import tomllib

import pytest
from helpers.kitchens import LOAF, RECIPES, fill_shelf, recipe_text
from hypothesis import given, settings, strategies as st

from curebatch import entry, shelf
from curebatch.intake.ingredients import ID
from curebatch.intake.link import check_of, decode, encode
from curebatch.intake.own import CELLS, COPY, complete, id_for, read_own
from curebatch.intake.recipe import MOST_TEXT, read_recipe
from curebatch.intake.recipe_file import write_recipe
from curebatch.views import html

PACK = {"pack": "6.25 %", "scale": "0.1 g", "fine_scale": "0.01 g"}
REFS = sorted(path.stem for path in RECIPES.glob("*.toml"))


def answer(want=("all",), page="own", **given):
    fill_shelf()
    return json.loads(entry.answer(json.dumps({"id": 1, "want": list(want), "input": {"page": page, **given}})))


def loaf(**changes) -> dict:
    """A small recipe as the form has it."""
    return {
        "title": "Harbour loaf", "method": "ground", "kinds": ["pork"], "state": "held",
        "targets": {"nitrite": "104 mg/kg", "nitrite_as": "NaNO2", "nitrite_per": "mix", "salt": "2.1 %", "salt_per": "mix"},
        "batch": {"meat": "2 kg", "portions": 20},
        "ingredient": [{"name": "Pork shoulder", "role": "meat", "amount": "100 %", "per": "meat"}, {"name": "Ice", "role": "ice", "amount": "400 g"}],
        "step": [{"text": "Chop {pork-shoulder} with {curing_salt} and {salt}."}],
        **changes,
    }  # fmt: skip


def weights(got: dict) -> dict:
    return {row["id"]: row["weigh"]["text"] for row in got["card"]["amounts"]}


# What a card says besides which recipe it is. The page asks for no oven, so it has no forecast of one.
def said(got: dict) -> dict:
    return {key: part for key, part in got["card"].items() if key not in ("recipe", "title", "forecast", "about_forecast")}


# ------------------------------------------------------------------ from the form


def test_nothing_yet_is_no_fault():
    got = answer()
    assert got["faults"] == [] and got["links"] == {} and "file" not in got and "own" not in got
    assert got["card"]["cure"] is None and got["card"]["verdict"] == "incomplete"
    assert got["status"] == got["card"]["verdict_text"] != ""


def test_a_form_gives_the_card_of_the_same_recipe_from_a_shelf():
    got = answer(own=loaf(), fields=PACK)
    assert got["faults"] == [] and got["card"]["cure"] and "own" not in got
    assert got["file"]["name"] == "harbour-loaf.1.toml"
    fill_shelf()
    shelf.put({"harbour-loaf.1": got["file"]["text"]})
    there = json.loads(entry.answer(json.dumps({"id": 1, "want": ["all"], "input": {"page": "recipe", "recipe": "harbour-loaf.1", "fields": PACK}})))
    assert said(there) == said(got) and there["card"]["title"] == "Harbour loaf"


def test_the_first_part_of_an_answer_carries_file_and_links():
    got = answer(want=["weights"], own=loaf(), fields=PACK)
    assert got["file"]["text"] == answer(own=loaf(), fields=PACK)["file"]["text"] and set(got["links"]) == {"recipe", "card"}


@pytest.mark.parametrize(("changes", "field"), [
    ({"title": ""}, "title"), ({"method": "smoked"}, "method"), ({"kinds": []}, "kinds"), ({"kinds": ["fish"]}, "kinds"),
    ({"targets": {"nitrite": "104", "nitrite_as": "NaNO2", "nitrite_per": "mix", "salt": "2.1 %", "salt_per": "mix"}}, "targets.nitrite"),
    ({"targets": {"nitrite": "104 mg/kg", "nitrite_as": "NaNO2", "salt": "2.1 %", "salt_per": "mix"}}, "targets.nitrite_per"),
    ({"targets": {}}, "targets.salt"), ({"batch": {"meat": "two kilos"}}, "batch.meat"), ({"batch": {"meat": "2 kg", "portions": "many"}}, "batch.portions"),
    ({"cooking": {"core": "70 F"}}, "cooking.core"), ({"method": "injected", "belly": False}, "pickle.pump"), ({"method": "dry"}, "belly"),
    ({"ingredient": []}, "ingredient"), ({"step": [{"text": "Fold in {pistachios}."}]}, "step"),
])  # fmt: skip
def test_a_fault_is_told_at_its_place_in_the_form(changes, field):
    data = {key: value for key, value in loaf(**changes).items() if value != ""}
    got = answer(own=data, fields=PACK)
    assert field in [wrong["field"] for wrong in got["faults"]]
    assert got["card"]["cure"] is None and got["card"]["amounts"] == [] and got["links"] == {} and "file" not in got
    page = html.page("own", {"root": "../", "assets": {"style": "s", "page": "p", "plain": "q"}, "build": "0", "rules_edition": "x", **own_page()})
    assert f'id="f-{field}"' in page and f'id="e-{field}"' in page


def own_page() -> dict:
    from curebatch.card import faulty
    from curebatch.intake.own import choices

    return {"card": faulty(None, []), "title": "x", **choices()}


@pytest.mark.parametrize(("row", "key"), [
    ({"role": "spice", "amount": "5 g"}, "name"), ({"name": "Mace", "amount": "5 g"}, "role"), ({"name": "Mace", "role": "spice"}, "amount"),
    ({"name": "Mace", "role": "spice", "amount": "5 x"}, "amount"), ({"name": "Mace", "role": "spice", "amount": "5 %"}, "per"),
    ({"name": "Mace", "role": "spice", "amount": "5 g", "food": "Unicorn"}, "food"), ({"name": "Soy sauce with salt", "role": "garnish", "amount": "5 g"}, "name"),
    ({"name": "Pink curing salt", "role": "spice", "amount": "5 g"}, "name"), ({"name": "Ice", "role": "ice", "amount": "5 g"}, "name"),
    ({"name": "Accelerator", "role": "accelerator", "amount": "1 g"}, "substance"), ({"name": "Mace", "role": "spice", "amount": "5 g", "glitter": "yes"}, "name"),
])  # fmt: skip
def test_a_fault_of_an_ingredient_is_told_in_its_row(row, key):
    got = answer(own=loaf(ingredient=[*loaf()["ingredient"], row]), fields=PACK)
    assert f"ingredient.3.{key}" in [wrong["field"] for wrong in got["faults"]] and key in CELLS
    assert {wrong["label"] for wrong in got["faults"]} == {"Ingredient 3"}


@pytest.mark.parametrize("data", [
    {}, {"title": "x"}, loaf(ingredient=[{"name": "Bacon", "role": "meat", "amount": "x"}, {}, 3]), loaf(targets=3, batch=[], step="x", cooking=True, kinds="pork"),
    loaf(smoke={"wood": "oak"}, schema=7), loaf(ingredient=[{"name": "Lean", "role": "meat", "amount": "60 %", "per": "meat"}]), loaf(step=[{"text": "{x}"}, 5]),
])  # fmt: skip
def test_no_fault_of_a_form_talks_of_lines_or_of_keys_of_a_file(data):
    got = answer(own=data)
    assert got["faults"] and got["card"]["cure"] is None
    for wrong in got["faults"]:
        assert ", line" not in wrong["text"] and "role =" not in wrong["text"] and "targets." not in wrong["text"] and "[targets]" not in wrong["text"]
        assert wrong["label"] and wrong["label"] != wrong["field"]


def test_what_to_write_stands_there_as_it_is_typed():
    texts = {wrong["field"]: wrong["text"] for wrong in answer(own=loaf(cooking={"core": "70", "hold": "2 min"}))["faults"]}
    assert texts["cooking.core"].endswith("Expected: 70 °C.") and '"' not in texts["cooking.core"]
    texts = {wrong["field"]: wrong["text"] for wrong in answer(own=loaf(ingredient=[*loaf()["ingredient"], {"name": "Mace", "role": "spice", "amount": "5"}]))["faults"]}
    assert texts["ingredient.3.amount"].endswith("Expected: 250 g, 25 % or 2 tsp.")


def test_choices_are_named_as_the_form_has_them():
    texts = {wrong["field"]: wrong["text"] for wrong in answer(own={"title": "x"})["faults"]}
    assert "dry cure on a whole cut" in texts["method"] and "the whole mix" in texts["targets.salt_per"] and "pork" in texts["kinds"]


def test_the_kitchen_and_the_amount_of_meat_lie_over_the_recipe():
    got = answer(own=loaf(), fields={**PACK, "meat": "3 kg"})
    assert weights(got)["pork-shoulder"].startswith("3000") and got["card"]["faults"] == []
    assert tomllib.loads(got["file"]["text"])["batch"]["meat"] == "2 kg"


@pytest.mark.parametrize(("row", "language", "told"), [
    ({"role": "starch", "amount": "50 g", "fat": "18 %"}, "en", "“Fat in it” is “18 %”. Expected: What it does: meat."),
    ({"name": "Ascorbic acid", "role": "spice", "amount": "1 g"}, "en", "“What it does” is “spice”. Expected: accelerator."),
    ({"name": "Ascorbic acid", "role": "spice", "amount": "1 g"}, "de", "„Was sie tut“ ist „Gewürz“. Erwartet: Umrötehilfsmittel."),
])  # fmt: skip
def test_a_role_is_named_as_the_form_has_it(row, language, told):
    got = answer(own=loaf(ingredient=[*loaf()["ingredient"], {"name": "Rice", **row}]), fields=PACK, language=language)
    assert [wrong["text"] for wrong in got["faults"]] == [told]


def test_a_row_that_is_empty_in_between_is_counted_as_the_form_counts_it():
    rows = loaf()["ingredient"]
    got = answer(own=loaf(ingredient=[rows[0], {}, {**rows[1], "amount": "x"}]))
    assert "ingredient.3.amount" in [wrong["field"] for wrong in got["faults"]]


# ------------------------------------------------------------------ ids


@given(st.text(max_size=60), st.sets(st.sampled_from(["recipe", "ham", "ham-own", "ham-own-2", "found"])))
def test_an_id_is_always_one_and_never_taken(title, taken):
    made = id_for(title, taken)
    assert ID.fullmatch(made) and made not in taken and made != "found"


@pytest.mark.parametrize(("title", "made"), [("Harbour loaf", "harbour-loaf"), ("Käse & Öl", "kase-ol"), ("豚", "recipe"), ("_", "recipe"), ("5 spice", "recipe-5-spice"), ("found", "found-own"), ("ham", "ham-own"), ("a" * 90, "a" * 41)])
def test_ids_from_titles(title, made):
    assert id_for(title, {"ham"}) == made


def test_a_file_of_a_published_recipe_is_never_taken_for_it():
    fill_shelf()
    got = answer(own=shelf.text(LOAF), fields=PACK)
    assert got["card"]["recipe"] == "pistachio-pork-loaf-own.1" and got["own"]["id"] == "pistachio-pork-loaf-own"


def test_names_in_any_script_have_ids_and_stay_apart():
    rows = [{"name": "豚肩", "role": "meat", "amount": "100 %", "per": "meat"}, {"name": "氷", "role": "ice", "amount": "20 %", "per": "meat"}, {"name": "5 spice", "role": "spice", "amount": "1 g"}]
    got = answer(own=loaf(ingredient=rows, step=[]), fields=PACK)
    assert got["faults"] == [] and [row["name"] for row in got["card"]["amounts"] if row["role"] not in ("salt", "curing_salt")] == ["豚肩", "氷", "5 spice"]


# ------------------------------------------------------------------ files


@pytest.mark.parametrize("ref", REFS)
def test_each_published_recipe_as_a_copy_of_ones_own_from_its_file_makes_the_same_card(ref):
    fields = PACK if ref != "grey-pork-loaf.1" else {"scale": "0.1 g"}
    published = answer(page="recipe", recipe=ref, fields=fields)
    assert published["faults"] == []
    copy = answer(link=published["links"]["recipe"], fields=fields)
    assert copy["faults"] == [] and said(copy) == said(published)
    assert copy["own"]["id"] == ref.rpartition(".")[0] + COPY and copy["own"]["revision"] == 1 and copy["own"]["title"] != published["card"]["title"]
    kept = answer(own=copy["own"], fields=fields)
    assert kept["file"] == copy["file"] and said(kept) == said(published)
    opened = answer(own=kept["file"]["text"], fields=fields)
    assert opened["own"] == copy["own"] and opened["file"] == kept["file"] and said(opened) == said(published)
    shared = answer(link=opened["links"]["recipe"], fields=fields)
    assert shared["own"] == copy["own"] and said(shared) == said(published)


def test_what_a_form_does_not_show_goes_through_it():
    fill_shelf()
    text = recipe_text(extra='[[ingredient]]\nid = "thing"\nname = "Milk powder"\nrole = "binder"\namount = "20 g"\nallergens = ["milk"]\n').replace('[batch]\n', '[batch]\ntins = ["box 30 x 10 x 8 cm"]\n')
    opened = answer(own=text, fields=PACK)
    assert opened["faults"] == [] and opened["own"]["batch"]["tins"] == ["box 30 x 10 x 8 cm"] and opened["own"]["ingredient"][-1]["allergens"] == ["milk"]
    assert read_recipe(opened["file"]["text"], "x") == read_recipe(text, "x")


def test_a_file_with_faults_fills_the_form_to_be_mended_there():
    got = answer(own=recipe_text(salt="two"), fields=PACK)
    assert [wrong["field"] for wrong in got["faults"]] == ["targets.salt"] and got["own"]["title"] == "Trial" and "file" not in got
    mended = got["own"] | {"targets": got["own"]["targets"] | {"salt": "2.1 %"}}
    assert answer(own=mended, fields=PACK)["faults"] == []


@pytest.mark.parametrize("text", ["", "x", "[[[", "\x00", "= = =", "a = " + "[" * 3000, "x" * (MOST_TEXT + 1), "a = 1\na = 2", "a." * 5000 + "b = 1"], ids=range(9))
def test_what_is_no_recipe_file_is_said_once_and_breaks_nothing(text):
    got = answer(own=text, fields=PACK)
    assert got["faults"] and got["card"]["cure"] is None and "file" not in got and got["links"] == {}


values = st.recursive(st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12), lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3), max_leaves=8)
keys = st.sampled_from(["schema", "id", "revision", "title", "method", "kinds", "targets", "batch", "ingredient", "step", "cooking", "pickle", "belly", "species", "spoons", "state"])


@settings(max_examples=150)
@given(st.dictionaries(keys, values, max_size=6), st.dictionaries(st.sampled_from(["name", "role", "amount", "per", "food", "id", "fat"]), values, max_size=4))
def test_no_data_at_all_breaks_it(changes, row):
    own = read_own({**loaf(), "ingredient": [*loaf()["ingredient"], row], **changes}, {"ham"})
    json.dumps(own.data, allow_nan=False)
    assert (own.recipe is None) == bool(own.faults) and bool(own.text) == (own.recipe is not None)
    if own.recipe:
        assert read_own(own.text, {"ham"}) == own


@pytest.mark.parametrize("own", [3, None, [], True, ["title"], 0.5])
def test_what_is_neither_data_nor_a_file_is_as_if_nothing_came(own):
    assert answer(own=own)["faults"] == []


def test_data_nested_without_end_is_a_fault():
    nested = []
    for _ in range(20_000):
        nested = [nested]
    own = read_own(loaf(title=nested), ())
    assert own.recipe is None and own.faults


def test_three_hundred_ingredients_are_read_and_one_more_is_refused():
    rows = [*loaf()["ingredient"], *({"name": f"Spice {number}", "role": "spice", "amount": "1 g"} for number in range(299))]
    assert answer(own=loaf(ingredient=rows[:300]), fields=PACK)["faults"] == []
    assert [wrong["field"] for wrong in answer(own=loaf(ingredient=rows, step=[]), fields=PACK)["faults"]] == ["ingredient"]


# ------------------------------------------------------------------ links


@settings(max_examples=60)
@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=200), st.sampled_from([{}, {"meat": "3kg"}, {"meat": "3kg", "pack": "6.25%"}]))
def test_a_link_carries_any_text_of_a_file(text, more):
    entries = {"own": text, **more}
    link = encode(entries, kitchen=True)
    back, faults = decode(link)
    assert not faults and back == entries and list(back) == list(entries) and encode(back, kitchen=True) == link
    assert link.startswith("v=1&own=") and not set(link) - set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._~%+/:,&=")


def test_a_recipe_as_long_as_a_file_may_be_goes_into_a_link():
    link = encode({"own": "豚" * MOST_TEXT}, kitchen=False)
    assert decode(link) == ({"own": "豚" * MOST_TEXT}, [])
    back, faults = decode(encode({"own": "𝕏" * (MOST_TEXT + 10_000)}, kitchen=False))
    assert back == {} and faults[0].code == "link_too_long"


@pytest.mark.parametrize("link", ["v=1&own=" + "&own=".join(str(n) for n in range(100_000)), "v=1&own=x&meat=" + "1" * 9000, "own=" + "x" * 20_000, "&" * 9000 + "own=x"], ids=range(4))
def test_a_long_link_that_is_no_recipe_is_refused(link):
    back, faults = decode(link)
    assert back == {} and len(faults) == 1


def test_a_link_with_a_recipe_cut_anywhere_is_found_out():
    link = answer(own=loaf(), fields=PACK)["links"]["card"]
    for end in range(5, len(link), 7):
        got = answer(link=link[:end])
        assert got["faults"] and got["card"]["cure"] is None and "own" not in got


def test_the_recipe_link_leaves_the_pack_at_home_and_the_card_link_asks_for_it():
    mine = answer(own=loaf(), fields={**PACK, "meat": "3 kg"})
    theirs = answer(link=mine["links"]["recipe"])
    assert "pack" not in mine["links"]["recipe"].replace("packs", "") and theirs["card"]["cure"] is None and theirs["fields"]["meat"] == "3 kg"
    assert theirs["own"]["title"] == "Harbour loaf" and theirs["links"]["recipe"] == mine["links"]["recipe"]
    asked = answer(link=mine["links"]["card"])
    assert asked["card"]["confirm"]["label"] == "6.25 %" and asked["card"]["cure"] is None
    known = answer(link=mine["links"]["card"], confirmed_packs=["6.25 %"])
    assert known["card"] == mine["card"]


def test_what_was_changed_in_the_form_since_counts_and_not_what_the_link_holds():
    link = answer(own=loaf(), fields={**PACK, "meat": "3 kg"})["links"]["card"]
    got = answer(link=link, own=loaf(title="Another"), confirmed_packs=["6.25 %"])
    assert got["card"]["title"] == "Another" and "own" not in got and weights(got)["pork-shoulder"].startswith("3000")


@pytest.mark.parametrize("page", ["recipe", "found"])
def test_a_link_with_a_recipe_in_it_goes_to_its_page(page):
    link = answer(own=loaf(), fields=PACK)["links"]["recipe"]
    got = answer(page=page, recipe=LOAF, link="#" + link)
    assert got["go"] == "own/#" + link


def test_a_link_of_a_found_recipe_goes_on_to_its_page():
    link = answer(page="found", fields={"found_cure": "20 g", "found_meat": "1 kg", "found_pack": "0.5 %"})["links"]["recipe"]
    assert answer(link=link)["go"] == "found/#" + link


def test_the_terminal_reads_such_a_link_too():
    mine = answer(own=loaf(), fields=PACK)
    fill_shelf()
    reading = entry.read({"page": "recipe", "link": mine["links"]["card"], "confirmed_packs": ["6.25 %"]})
    assert entry.card_of(reading) == mine["card"]


def test_what_is_handed_on_of_it_is_made_whatever_the_length_of_its_link():
    rows = [*loaf()["ingredient"], *({"name": f"Spice {number}", "role": "spice", "amount": "1 g"} for number in range(100))]
    for own in (loaf(), loaf(ingredient=rows)):
        got = answer(want=entry.HANDED, own=own, fields=PACK, address="https://e.example/own/")
        assert got["faults"] == [] and set(got["handed"]) == set(entry.HANDED)


def test_a_link_with_a_recipe_that_has_faults_says_them_and_fills_the_form():
    link = encode({"own": recipe_text(salt="two")}, kitchen=False)
    got = answer(link=link)
    assert [wrong["field"] for wrong in got["faults"]] == ["targets.salt"] and got["own"]["title"] == "Trial" and got["links"] == {}


HOSTILE = "<script>alert(1)</script>\" ' & {core} {{ x }} \u200f \\ \n\t</textarea>"


def test_hostile_texts_stay_texts():
    rows = [{**row, "name": HOSTILE + str(number), "id": f"x{number}"} for number, row in enumerate(loaf()["ingredient"])]
    mine = answer(own=loaf(title=HOSTILE, ingredient=rows, step=[{"text": HOSTILE}]), fields=PACK)
    assert mine["faults"] == [] and mine["card"]["cure"]
    for part in mine["sections"].values():
        assert "<script" not in part and "alert(1)</" not in part
    theirs = answer(link=mine["links"]["recipe"], fields=PACK)
    assert theirs["own"]["title"] == HOSTILE and theirs["file"] == mine["file"] and said(theirs) == said(mine)


# ------------------------------------------------------------------ copies


def test_a_copy_takes_over_what_the_link_changed_and_leaves_the_rest_of_it():
    link = encode({"recipe": LOAF, "meat": "3 kg", "salt": "1.9 %", "salt_per": "mix", "use.ice": "500 g", "core": "75 °C", **PACK}, kitchen=True)
    theirs = answer(page="recipe", recipe=LOAF, link=link, confirmed_packs=["6.25 %"])
    mine = answer(link=link, confirmed_packs=["6.25 %"])
    assert weights(mine) == weights(theirs) and mine["card"]["cure"] == theirs["card"]["cure"]
    assert mine["own"]["targets"]["salt"] == "1.9 %" and mine["own"]["batch"]["meat"] == "3000 g" and mine["own"]["cooking"]["core"] == "75 °C"
    assert mine["fields"] == PACK
    # From then on the form decides, though the link still stands behind it.
    own = mine["own"] | {"targets": mine["own"]["targets"] | {"salt": "2.0 %"}}
    changed = answer(link=link, own=own, confirmed_packs=["6.25 %"])
    assert changed["card"]["targets"][1]["text"].startswith("2 %") and changed["fields"] == PACK and "own" not in changed


def test_a_copy_of_an_unknown_or_broken_recipe_says_so():
    assert [wrong["field"] for wrong in answer(link=encode({"recipe": "unicorn.1"}, kitchen=False))["faults"]] == ["recipe"]
    got = answer(link=encode({"recipe": LOAF, "meat": "x", "pack": "y"}, kitchen=True))
    assert sorted(wrong["field"] for wrong in got["faults"]) == ["meat", "pack"] and "own" not in got


def test_no_copy_is_made_of_a_recipe_that_was_withdrawn():
    got = answer(link=encode({"recipe": LOAF}, kitchen=False), withdrawn={"recipes": {LOAF: "Ten times too much."}}, fields=PACK)
    assert [wrong["code"] for wrong in got["faults"]] == ["own_withdrawn"] and "Ten times" in got["faults"][0]["text"] and "own" not in got


def test_a_page_of_a_recipe_leads_to_its_copy():
    fill_shelf()
    request = {"page": "recipe", "recipe": LOAF, "root": "../../", "assets": {"style": "s", "early": "e", "page": "p", "plain": "q"}, "build": "0", "canonical": None}
    page = entry.draw(json.dumps(request))
    link = answer(page="recipe", recipe=LOAF)["links"]["recipe"].replace("&", "&amp;")
    assert f'href="../../own/#{link}" data-own-copy' in page


def test_completing_keeps_what_is_there_and_names_what_is_not():
    made = complete({"title": "Ham", "id": "my-ham", "revision": 4, "language": "de"}, {"ham"})
    assert (made["id"], made["revision"], made["language"], made["schema"]) == ("my-ham", 4, "de", 1)
    assert complete(tomllib.loads(write_recipe(made)), {"ham"}) == made
