"""Recipe files broken or made by an enemy: a whole recipe or faults in words, and no unsafe card of either."""

from __future__ import annotations

import tomllib

import pytest
from helpers.attacks import BARBS, Slowest, assert_not_grossly_wrong, attacked, broken
from helpers.kitchens import RECIPES, fill_shelf
from hypothesis import given
from hypothesis import strategies as st

from curebatch import entry
from curebatch.intake.nesting import MOST_LEVELS, TooDeep, check_data, check_json, read_toml
from curebatch.intake.own import read_own
from curebatch.intake.recipe import MOST_TEXT, read_recipe
from curebatch.intake.recipe_file import write_recipe

SEEDS = [path.read_text(encoding="utf-8") for path in sorted(RECIPES.glob("*.toml"))]
DATA = [tomllib.loads(text) for text in SEEDS]
KITCHEN = {"pack": "6.25 %", "scale": "1 g", "fine_scale": "0.01 g", "region": "us"}
broken_files, made_files = Slowest("recipe files, broken"), Slowest("recipe files, other values")
fill_shelf()


def judge(slowest: Slowest, text: str) -> bool:
    recipe, faults = slowest.run(read_recipe, text, "trial.toml")
    assert (recipe is None) == bool(faults) and len(faults) <= 21
    for fault in faults:
        assert fault.text and len(fault.text) < 2000 and all(sign.isprintable() for sign in fault.text)
    own = slowest.run(read_own, text, {"pistachio-pork-loaf"})
    assert (own.recipe is None) == bool(own.faults)
    if recipe is None:
        return False
    card = slowest.run(lambda _: entry.card_of(entry.read({"fields": KITCHEN}, recipe), whole=False), text)
    assert_not_grossly_wrong(card, entry.read({"fields": KITCHEN}, recipe).document)
    return card["cure"] is not None


@attacked
@given(broken(SEEDS))
def test_a_broken_file_is_a_recipe_or_faults(text):
    judge(broken_files, text)


_PLACES = [
    *(("", key) for key in ("schema", "id", "revision", "language", "title", "author", "summary", "method", "kinds", "cut", "state", "belly", "spoons", "species", "day", "changes", "targets", "batch", "ingredient", "step", "cooking", "pickle", "__proto__", "nitrite")),
    *(("targets", key) for key in ("nitrite", "nitrite_as", "nitrite_per", "salt", "salt_per")),
    *(("batch", key) for key in ("meat", "portions", "tins", "vessel", "cooked_share")),
    *(("pickle", key) for key in ("pump", "pick_up")),
    *(("cooking", key) for key in ("core", "hold")),
    *(("ingredient", key) for key in ("id", "name", "role", "amount", "per", "form", "food", "fat", "animal", "salt", "substance", "p2o5", "pack_list", "allergens")),
    ("step", "text"),
]  # fmt: skip
_VALUES = st.one_of(
    broken(("104 mg/kg", "2.1 %", "1 kg", "25 %", "250 g", "2 tsp", "72 °C", "2 min", "0.9", "Pork", "meat", "mix", "ground", "brine", "injected", "Chop {pork} and {curing_salt}", "ascorbate"), most=2, least=0),
    st.sampled_from(BARBS), st.booleans(), st.integers(-2, 10**12), st.lists(st.sampled_from(("pork", "poultry", "beef", "x", "box 30 x 10 x 8 cm")), max_size=3),
    st.dictionaries(st.sampled_from(("amount", "text", "__proto__")), st.sampled_from(("1 kg", "x")), max_size=2),
)


@st.composite
def other_values(draw) -> str:
    data = draw(st.sampled_from(DATA))
    data = {key: dict(value) if isinstance(value, dict) else [dict(row) if isinstance(row, dict) else row for row in value] if isinstance(value, list) else value for key, value in data.items()}
    for place, key in draw(st.lists(st.sampled_from(_PLACES), min_size=1, max_size=3)):
        value = draw(_VALUES)
        into = data if not place else data.setdefault(place, {})
        if isinstance(into, list):
            into = into[draw(st.integers(0, 30)) % len(into)] if into else data
        if isinstance(into, dict):
            if draw(st.integers(0, 5)):
                into[key] = value
            else:
                into.pop(key, None)
    return write_recipe(data)


@attacked
@given(other_values())
def test_a_file_of_other_values_is_a_recipe_or_faults(text):
    judge(made_files, text)


DEEP = [
    "[" * 5_000, "a = " + "[" * 5_000 + "]" * 5_000, "a = " + "{b = " * 5_000, "[" + ".".join("a" * 5_000) + "]", ".".join("a" * 5_000) + " = 1", '"a" . ' * 5_000 + "b = 1",
    "[[" + ".".join("a" * 5_000) + "]]", "a = " + "[\n" * 5_000, "a = " + "[ {b = " * 3_000, 'x = """\n[[[["""\na = ' + "[" * 5_000, "x = '''\"'''\ny = " + "[" * 5_000, "x = \"\\\"\" # \"\ny = " + "[" * 5_000,
]  # fmt: skip


@pytest.mark.parametrize("text", DEEP, ids=range(len(DEEP)))
def test_what_nests_without_end_is_refused_before_it_is_read(text, monkeypatch):
    """The reader of TOML is not even asked: where the stack ends differs from one browser to the next."""

    def never(_):
        raise AssertionError("the reader was asked")

    monkeypatch.setattr(tomllib, "loads", never)
    recipe, faults = read_recipe(text, "deep.toml")
    assert recipe is None and [fault.code for fault in faults] == ["recipe_nested"] and str(MOST_LEVELS) in faults[0].text
    assert [fault.code for fault in read_own(text, ()).faults] == ["recipe_nested"]


def levels(data: object) -> int:
    inner = data.values() if isinstance(data, dict) else data if isinstance(data, list) else None
    return 0 if inner is None else 1 + max(map(levels, inner), default=0)


@attacked
@given(broken((*SEEDS, "a.b.c = [{d.e = ['''[''', \"[\"]}] # [[[\n[x.\"y.z\".'w']\nu = \"\"\"{\"{\"\"\"\n")))
def test_depth_is_measured_as_the_reader_finds_it(text):
    text = text[:MOST_TEXT]
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError):
        return
    try:
        assert read_toml(text) == data and levels(data) <= 2 * MOST_LEVELS + 2
    except TooDeep:
        assert levels(data) > MOST_LEVELS - 2


@pytest.mark.parametrize("text", ['"\\' * 50_000, '"' * 99_999, "'" * 99_999, '"""' * 33_333, '"""\\' * 25_000, '\\"' * 50_000, '"a' * 50_000, "[]" * 50_000, "a." * 50_000, "1.1," * 25_000, '"' + "\\" * 99_998], ids=range(11))
def test_depth_is_measured_in_one_pass(text):
    """Each of these took minutes once, or would where a text is looked at again from every quote; it fails by never coming back."""
    for look in (read_toml, check_json):
        try:
            look(text)
        except ValueError:
            pass


def test_our_own_depth_is_far_from_the_bound():
    assert max(map(levels, DATA)) <= MOST_LEVELS // 2
    nested: object = "x"
    for _ in range(MOST_LEVELS):
        nested = [nested]
    check_data(nested)
    with pytest.raises(TooDeep):
        check_data([nested])
