"""The batch as it is weighed, worked out a second time by hand, for all four methods, in exact fractions.

Written from the words of the design and of the handbook, line by line, and not from the solver.
"""

from dataclasses import replace
from fractions import Fraction

import pytest
from helpers.kitchens import pack_of, scales_of
from hypothesis import given, settings, strategies as st

from curebatch.batch import cure
from curebatch.batch.cure import Batch, Ceiling, Impossible, Line, Pack
from curebatch.batch.rounding import Scale
from curebatch.intake.recipe import read_recipe
from curebatch.intake.recipe_file import write_recipe
from curebatch.intake.units import read_amount

PPM = Fraction(1, 10**6)
SODIUM = {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005"), "KNO2": Fraction("68.995") / Fraction("85.103")}
METHODS = ("ground", "dry", "brine", "injected")
BLOCK = ("meat", "fat")


def a_recipe(method="ground", *, nitrite="104 mg/kg", counted="NaNO2", per="mix", salt="21 g/kg", salt_per="mix", pump="10 %", pick_up=None, lines=()):
    whole = {"belly": False} if method != "ground" else {}
    pickle = {"pickle": {"pump": pump}} if method == "injected" else {"pickle": {"pick_up": pick_up}} if pick_up else {}
    targets = {"salt": salt, "salt_per": salt_per, **({"nitrite": nitrite, "nitrite_as": counted, "nitrite_per": per} if nitrite else {})}
    ingredients = [{"name": "Pork", "role": "meat", "amount": "70 %", "per": "meat"}, {"name": "Back fat", "role": "fat", "amount": "30 %", "per": "meat"}, *lines]
    recipe, faults = read_recipe(write_recipe({
        "schema": 1, "id": "trial", "revision": 1, "language": "en", "title": "Trial", "method": method, "kinds": ["pork"], **whole, "targets": targets, "batch": {"meat": "1 kg"}, **pickle, "ingredient": ingredients,
    }), "x.toml")  # fmt: skip
    assert recipe, faults
    return recipe


def water(grams: int, role="water") -> dict:
    return {"name": "Water", "role": role, "amount": f"{grams} g"}


@st.composite
def recipes(draw, method):
    lines = [water(draw(st.integers(120, 900)), draw(st.sampled_from(["water", "ice"])))] if method != "dry" else []
    if draw(st.booleans()):
        lines.append({"name": "Soy sauce with salt", "role": "garnish", "amount": f"{draw(st.integers(1, 60))} g/kg", "per": draw(st.sampled_from(["meat", "mix"])), "salt": f"{draw(st.integers(1, 20))} %"})
    if draw(st.booleans()):
        lines.append({"name": "Erythorbate", "role": "accelerator", "amount": f"{draw(st.integers(1, 55)) / 100:.2f} g", "substance": "sodium_erythorbate"})
    if draw(st.booleans()):
        lines.append({"name": "Blend", "role": "phosphate", "amount": f"{draw(st.integers(1, 40)) / 10:.1f} g/kg", "per": draw(st.sampled_from(["meat", "mix"])), "p2o5": "57 %"})
    lines.append({"name": "Spice", "role": "spice", "amount": f"{draw(st.integers(0, 30))} g/kg", "per": draw(st.sampled_from(["meat", "mix"]))})
    return a_recipe(
        method, nitrite=f"{draw(st.integers(20, 250))} mg/kg", counted=draw(st.sampled_from(sorted(SODIUM))), per=draw(st.sampled_from(["meat", "mix"])),
        salt=f"{draw(st.integers(16, 40))} g/kg", salt_per=draw(st.sampled_from(["meat", "mix"])), pump=f"{draw(st.integers(5, 30))} %", lines=lines,
    )  # fmt: skip


labels = st.sampled_from(["0.4-0.5 %", "0.6 %", "0.8-1 %", "2-2.5 %", "6.25 %", "10 %"])
compounds = st.sampled_from(sorted(SODIUM))
scales = st.sampled_from([("1 g", None), ("5 g", "0.1 g"), ("1 g", "0.01 g"), ("2 g", "0.1 oz"), ("0.1 oz", "0.1 g")])


def strength(label: str, compound: str, case: str) -> Fraction:
    ends = [Fraction(end) / 100 * SODIUM[compound] for end in label.removesuffix(" %").split("-")]
    return {"low": ends[0], "nominal": sum(ends) / len(ends), "high": ends[-1]}[case]


def carried(label: str, compound: str, case: str) -> Fraction:
    """Common salt of the curing salt: what is not nitrite, the ion counted with its sodium. The case follows the label's other end."""
    ends = [1 - Fraction(end) / 100 * (SODIUM["NO2-"] if compound == "NO2-" else 1) for end in label.removesuffix(" %").split("-")]
    return {"low": ends[-1], "nominal": sum(ends) / len(ends), "high": ends[0]}[case]


def step_of(text: str) -> Fraction:
    return read_amount(text, "mass", ("g", "oz")).value


def on_steps(grams: Fraction, step: Fraction, down: bool) -> Fraction:
    below = grams // step * step
    return below if down or (grams - below) * 2 <= step else below + step


def lies(weighed: Fraction, step: Fraction, way: int, wanted: bool) -> Fraction:
    return max(Fraction(0), weighed + way * step) if wanted else Fraction(0)


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_every_weight_and_every_share_of_a_solved_batch(data):
    method = data.draw(st.sampled_from(METHODS))
    recipe, meat = data.draw(recipes(method)), Fraction(data.draw(st.integers(60, 20_000)))
    label, compound, (coarse_text, fine_text) = data.draw(labels), data.draw(compounds), data.draw(scales)
    found = cure.solve(recipe, meat, pack_of(label, compound), scales_of(coarse_text, fine_text), ())
    if found.batch is None:
        assert found.conflict or found.impossible or found.no_dose
        return
    batch, coarse, fine = found.batch, step_of(coarse_text), step_of(fine_text or coarse_text)
    assert found.lowered_for is None and not (found.no_dose or found.impossible or found.conflict)

    # The kettle, from the grams that were found: what goes in at a fixed weight, and the shares of it.
    inside = [i for i in recipe.ingredients if method != "injected" or i.role not in BLOCK]
    dose = batch.cure.weighed
    fixed = sum((i.share for i in inside if i.per == "meat"), Fraction(0)) * meat
    shares = sum((i.share for i in inside if i.per == "mix"), Fraction(0))
    pump, targets = recipe.pump.value if recipe.pump else None, recipe.targets

    def base(per: str, kettle: Fraction) -> Fraction:
        if method == "injected":
            # The kettle holds more than the cut takes up; a target of the cut asks the whole of it for more.
            return kettle * (1 if per == "meat" else 1 + pump) / pump
        return meat if per == "meat" and method != "brine" else kettle

    salt_wanted = targets.salt.value
    # kettle = fixed + shares * kettle + dose + salt, and the salts together make the target of their base.
    salty = sum(((i.share * i.salt) for i in inside if i.per == "meat"), Fraction(0)) * meat
    salty_share = sum(((i.share * i.salt) for i in inside if i.per == "mix"), Fraction(0))
    plain = batch.salt.grams
    kettle = (fixed + dose + plain) / (1 - shares)
    brought = dose * carried(label, compound, "low") + salty + salty_share * kettle
    if plain > 0:
        assert plain + brought == salt_wanted * base(targets.salt_per, kettle)
    else:
        assert brought >= salt_wanted * base(targets.salt_per, kettle)

    # The dose: the target on the label's top, rounded to the nearest step of the fine scale.
    exact = targets.nitrite.value * SODIUM[targets.nitrite_as] / strength(label, compound, "high")
    if targets.nitrite_per == "meat" and method in ("ground", "dry"):
        assert found.wished == exact * meat
    else:
        # The kettle that the wish belongs to adds up, with as much plain salt as the salt target then asks.
        kettle_wished = found.wished / exact / base(targets.nitrite_per, Fraction(1))
        plain_wished = salt_wanted * base(targets.salt_per, kettle_wished) - found.wished * carried(label, compound, "low") - salty - salty_share * kettle_wished
        assert kettle_wished == fixed + shares * kettle_wished + found.wished + plain_wished
    assert dose == on_steps(found.wished, fine, down=False) == batch.cure.weighed and batch.cure.grams == dose
    assert (batch.cure.id, batch.cure.role, batch.cure.scale.step) == ("curing_salt", "curing_salt", fine)

    # The lines: each on its scale, what answers to a limit of its own never rounded over it.
    assert len(batch.lines) == len(recipe.ingredients) and (batch.salt.id, batch.salt.role) == ("salt", "salt")
    for line, ingredient in zip(batch.lines, recipe.ingredients, strict=True):
        assert (line.id, line.name, line.role, line.salt) == (ingredient.id, ingredient.name, ingredient.role, ingredient.salt)
        assert line.grams == ingredient.share * (meat if ingredient.per == "meat" else kettle)
    for line in (*batch.lines, batch.salt):
        small = fine_text and line.grams < 100 * coarse
        assert line.scale.step == (fine if small else coarse)
        assert line.weighed == on_steps(line.grams, line.scale.step, line.role in ("accelerator", "phosphate"))
    if method == "injected":
        assert (batch.pumped.id, batch.pumped.role, batch.pumped.grams, batch.pumped.scale.step) == ("pumped", "pumped", meat * pump, coarse)
        assert batch.pumped.weighed == on_steps(meat * pump, coarse, down=False)
    else:
        assert batch.pumped is None

    judge_shares(batch, label, compound, method)


def judge_shares(batch: Batch, label: str, compound: str, method: str) -> None:
    block = [line for line in batch.lines if line.role in BLOCK]
    others = [line for line in batch.lines if line.role not in BLOCK] + [batch.salt]
    assert batch.meat_grams == sum(line.weighed for line in block)
    assert batch.pickle_grams == sum(line.weighed for line in others) + batch.cure.weighed
    assert batch.mix_grams == batch.meat_grams + batch.pickle_grams
    assert batch.everything == (*batch.lines, batch.salt, batch.cure)
    for way, case in ((-1, "low"), (0, "nominal"), (1, "high")):
        def lying(line, sign, way=way):
            return lies(line.weighed, line.scale.step, sign * way, line.grams != 0)

        for what in ("nitrite", "salt"):
            # What carries it is off one way; what it is counted in, the other.
            carriers = {"curing_salt"} if what == "nitrite" else {"curing_salt", "salt", *(line.id for line in batch.lines if line.salt)}
            total = lying(batch.cure, 1) * (strength if what == "nitrite" else carried)(label, compound, case)
            if what == "salt":
                total += lying(batch.salt, 1) + sum(lying(line, 1) * line.salt for line in batch.lines)
            meat = sum(lying(line, 1 if line.id in carriers else -1) for line in block)
            rest = sum(lying(line, 1 if line.id in carriers else -1) for line in [*others, batch.cure])
            for per in ("meat", "mix"):
                if method == "injected":
                    into = lying(batch.pumped, 1)
                    share, of = total * into, rest * (meat if per == "meat" else meat + into)
                elif method == "brine" or per == "mix":
                    share, of = total, meat + rest
                else:
                    share, of = total, meat
                got = batch.nitrite(per, case) if what == "nitrite" else batch.salt_share(per, case)
                assert got == (share / of if of else (1 if way > 0 else 0)), (what, per, case)
                assert got == (batch.nitrite(per, case) if what == "nitrite" else batch.salt_share(per, case))
    if method == "injected":
        worst = lying(batch.cure, 1) * strength(label, compound, "high")
        meat = sum(lying(line, -1) for line in block)
        pickle = sum(lying(line, -1) for line in others) + lying(batch.cure, 1)
        assert batch.left_in_the_rest("mix") == (worst / (meat + pickle) if meat else 1)
        assert batch.left_in_the_rest("meat") == (worst / (meat + pickle) * (meat + lying(batch.pumped, 1)) / meat if meat else 1)
    salt = batch.salt.weighed + batch.cure.weighed * carried(label, compound, "nominal")
    wet = sum(line.weighed for line in batch.lines if line.role in ("water", "ice"))
    assert cure.brine_strength(batch) == (salt / (salt + wet) if salt + wet else 1)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_stated_dose_and_its_shares(data):
    method = data.draw(st.sampled_from(METHODS))
    recipe, meat = data.draw(recipes(method)), Fraction(data.draw(st.integers(200, 9000)))
    label, (coarse, fine) = data.draw(labels), data.draw(scales)
    stated = Fraction(data.draw(st.integers(1, 5000)), data.draw(st.sampled_from([1, 7, 100])))
    try:
        batch = cure.judge_stated(recipe, meat, pack_of(label), scales_of(coarse, fine), stated)
    except Impossible:
        return
    assert batch.cure.weighed == batch.cure.grams == stated and batch.salt.grams >= 0
    judge_shares(batch, label, "NaNO2", method)


def line(id: str, role: str, grams, step="1") -> Line:
    return Line(id, id, role, Fraction(grams), Fraction(grams), Scale(Fraction(step), "g", 0))


SIXTEENTH = "6.25 %"
EXTRAS = (
    {"name": "Soy with salt", "role": "garnish", "amount": "50 g", "salt": "10 %"}, {"name": "Miso with salt", "role": "garnish", "amount": "2 %", "per": "mix", "salt": "12 %"},
    {"name": "Erythorbate", "role": "accelerator", "amount": "0.57 g", "substance": "sodium_erythorbate"}, {"name": "Blend", "role": "phosphate", "amount": "2.96 g", "p2o5": "57 %"},
)


def test_a_ground_batch_with_a_stated_dose_by_hand():
    recipe = a_recipe(salt="2 %", lines=[water(250), *EXTRAS])
    batch = cure.judge_stated(recipe, Fraction(1000), pack_of(SIXTEENTH), scales_of("1 g", "0.1 g"), Fraction("2.34"))
    # mix = 1303.53 + 2 % of it + 2.34 + salt; salt + 2.34 x 93.75 % + 50 x 10 % + 2 % x 12 % of the mix = 2 % of the mix
    mix = (Fraction("1303.53") + Fraction("2.34") - Fraction("2.34") * Fraction("0.9375") - 5) / (1 - Fraction("0.02") - Fraction("0.02") + Fraction("0.0024"))
    salt = Fraction("0.02") * mix - Fraction("2.34") * Fraction("0.9375") - 5 - Fraction("0.0024") * mix
    assert batch.salt.grams == salt and 10 < salt < 20 and (batch.salt.id, batch.salt.name, batch.salt.role, batch.salt.weighed) == ("salt", "", "salt", round(salt * 10) / Fraction(10))
    assert (batch.cure.id, batch.cure.name, batch.cure.role, batch.cure.grams, batch.cure.weighed, batch.cure.scale.step) == ("curing_salt", "", "curing_salt", Fraction("2.34"), Fraction("2.34"), Fraction("0.1"))
    # What answers to a limit of its own goes down to the scale, and all else to the nearest.
    assert [line.name for line in batch.lines[:4]] == ["Pork", "Back fat", "Water", "Soy with salt"]
    assert [(line.id, line.weighed) for line in batch.lines] == [
        ("pork", 700), ("back-fat", 300), ("water", 250), ("soy-with-salt", 50), ("miso-with-salt", round(mix * Fraction("0.02") * 10) / Fraction(10)), ("erythorbate", Fraction("0.5")), ("blend", Fraction("2.9")),
    ]
    assert (batch.cure.salt, batch.pumped, batch.pick_up, batch.method) == (0, None, None, "ground")
    assert batch.salt_share("meat", "nominal") == (batch.salt.weighed + Fraction("2.34") * Fraction("0.9375") + 5 + batch.lines[4].weighed * Fraction("0.12")) / 1000
    assert batch.nitrite("meat", "nominal") == Fraction("2.34") * Fraction("0.0625") / 1000


@pytest.mark.parametrize("per, salt_per", [("meat", "mix"), ("mix", "meat"), ("mix", "mix")])
def test_an_injected_batch_by_hand(per, salt_per):
    """A tenth of a kilo is pumped: of a pickle of 400 g of water and its salts."""
    recipe = a_recipe("injected", nitrite="120 mg/kg", per=per, salt="1.8 %", salt_per=salt_per, pump="10 %", lines=[water(400)])
    pack, kitchen = pack_of(SIXTEENTH), scales_of("1 g", "0.01 g")
    found = cure.solve(recipe, Fraction(1000), pack, kitchen, ())
    # The cut of 1000 g or of 1100 g gets a hundred grams of the pickle, so the pickle holds ten or eleven times the target of its own weight.
    c = Fraction("0.00012") * (10 if per == "meat" else 11) / Fraction("0.0625")
    s = Fraction("0.018") * (10 if salt_per == "meat" else 11)
    pickle = 400 / (1 - s - c * Fraction("0.0625"))
    assert found.wished == c * pickle and found.batch.cure.weighed == round(found.wished * 100) / Fraction(100)
    whole = (400 + found.batch.cure.weighed * (1 - Fraction("0.9375"))) / (1 - s)
    assert found.batch.salt.grams == s * whole - found.batch.cure.weighed * Fraction("0.9375")
    pumped = found.batch.pumped
    assert (pumped.id, pumped.name, pumped.role, pumped.grams, pumped.weighed, pumped.scale) == ("pumped", "", "pumped", 100, 100, kitchen.coarse)
    # Asked of no pack: the same target on the other base, 1100 g for 1000.
    assert cure.target_on(recipe, Fraction(1000), per) == Fraction("0.00012")
    assert cure.target_on(recipe, Fraction(1000), "mix") * 11 == cure.target_on(recipe, Fraction(1000), "meat") * 10


@pytest.mark.parametrize("method", ["ground", "brine"])
def test_a_target_on_the_other_base_by_hand(method):
    recipe = a_recipe(method, nitrite="100 mg/kg", counted="NO2-", per="mix", salt="2 %", lines=[water(250)])
    mix, share = 1250 / Fraction("0.98"), Fraction("0.0001") * SODIUM["NO2-"]
    assert cure.target_on(recipe, Fraction(1000), "mix") == share
    assert cure.target_on(recipe, Fraction(1000), "meat") == (share if method == "brine" else share * mix / 1000)
    of_meat = a_recipe(method, nitrite="100 mg/kg", per="meat", salt="2 %", lines=[water(250)])
    assert cure.target_on(of_meat, Fraction(1000), "mix") == Fraction("0.0001") * (1 if method == "brine" else 1000 / mix)


@pytest.mark.parametrize("gain, told", [("30 %", Fraction(3, 10)), ("12 %", Fraction(12, 100)), (None, Fraction(1, 10))])
def test_a_brine_carries_in_what_the_piece_gains(gain, told):
    """The handbook's two ways, by hand; the higher is judged: in little brine a great gain brings more than both being alike."""
    recipe = a_recipe("brine", nitrite="100 mg/kg", salt="3 %", pick_up=gain, lines=[water(120)])
    batch = cure.solve(recipe, Fraction(1000), pack_of("0.4-0.6 %"), scales_of("1 g", "0.1 g"), ()).batch
    most = Fraction("0.006") * (batch.cure.weighed + Fraction("0.1"))
    # The rest of the pickle one step short: 119 g of water, 0.1 g less salt.
    pickle = batch.cure.weighed + Fraction("0.1") + 119 + batch.salt.weighed - Fraction("0.1")
    assert batch.pick_up == told and batch.by_pick_up() == most * told / pickle
    alike = most / (pickle + 699 + 299)
    assert batch.nitrite("meat", "high") == batch.nitrite("mix", "high") == max(alike, batch.by_pick_up())
    assert (batch.nitrite("meat", "high") > alike) is (told == Fraction(3, 10))
    nominal = Fraction("0.005") * batch.cure.weighed / batch.mix_grams
    assert batch.nitrite("meat", "nominal") == nominal and batch.nitrite("meat", "low") < nominal
    assert {line.id for line in batch.pickle_lines} == {"water", "salt", "curing_salt"} and {line.id for line in batch.meat_lines} == {"pork", "back-fat"}


def test_a_pack_counted_as_the_ion_by_hand():
    pack = Pack.of(read_amount("0.4-0.5 %", "share", ("%",), range_allowed=True), "NO2-")
    low, high = Fraction("0.004") * SODIUM["NO2-"], Fraction("0.005") * SODIUM["NO2-"]
    assert (pack.label, [pack.nitrite(case) for case in cure.CASES]) == ("0.4-0.5 %", [low, (low + high) / 2, high])
    assert [pack.salt(case) for case in cure.CASES] == [1 - high, 1 - (low + high) / 2, 1 - low]


def test_a_batch_works_its_shares_out_for_itself():
    """What is remembered of one is neither its look nor handed on to a changed one."""
    recipe = a_recipe(lines=[water(250)])
    asked, fresh = (cure.judge_stated(recipe, Fraction(1000), pack_of(SIXTEENTH), scales_of("1 g"), Fraction(2)) for _ in range(2))
    share = asked.nitrite("meat", "high")
    assert asked == fresh and repr(asked) == repr(fresh)
    changed = replace(asked, pack=pack_of("0.5 %"))
    assert changed.nitrite("meat", "high") == share * Fraction("0.5") / Fraction("6.25")


@pytest.mark.parametrize("grams, method", [(1, "ground"), (5, "injected")])
def test_the_smallest_batch_is_possible(grams, method):
    assert cure.possible(a_recipe(method, lines=[water(120)]), Fraction(grams))


def test_less_than_a_gram_of_plain_salt_is_weighed_as_well():
    recipe = a_recipe(salt="20 g/kg", salt_per="meat", per="meat")
    assert cure.uncured(recipe, Fraction(40), scales_of("1 g", "0.1 g")).salt.weighed == Fraction("0.8")


def test_where_other_lines_are_salty_enough_no_plain_salt_goes_in():
    lines = [{"name": "Soy with salt", "role": "garnish", "amount": "150 g", "salt": "10 %"}, {"name": "Spice", "role": "spice", "amount": "1 %", "per": "mix"}]
    batch = cure.uncured(a_recipe(salt="1 %", salt_per="meat", lines=lines), Fraction(1000), scales_of("1 g", "0.1 g"))
    assert (batch.salt.grams, batch.salt.weighed) == (0, 0) and batch.lines[-1].grams == Fraction(1150) / 99


def test_a_recipe_without_a_nitrite_target_has_no_dose():
    found = cure.solve(a_recipe(nitrite=None), Fraction(1000), pack_of(SIXTEENTH), scales_of("1 g"), ())
    assert found.no_dose and found.batch is None and found.wished == 0


def test_a_batch_of_which_nothing_certain_is_left_is_taken_for_all_nitrite():
    pack = Pack("6.25 %", Fraction("0.0625"), Fraction("0.0625"), Fraction("0.9375"), Fraction("0.9375"))
    batch = Batch((line("meat", "meat", 1),), line("curing_salt", "curing_salt", 1), line("salt", "salt", 0), pack)
    assert batch.nitrite("meat", "high") == 1 and batch.nitrite("mix", "high") == 2 * Fraction("0.0625") / 2
    assert batch.nitrite("meat", "low") == 0 and batch.nitrite("meat", "nominal") == Fraction("0.0625")
    nothing = Batch((line("meat", "meat", 0),), line("curing_salt", "curing_salt", 0), line("salt", "salt", 0), pack)
    assert (nothing.nitrite("meat", "low"), nothing.nitrite("meat", "nominal"), nothing.nitrite("meat", "high")) == (0, 0, 1)
    assert cure.brine_strength(nothing) == 1 and (nothing.method, nothing.pumped, nothing.pick_up) == ("ground", None, None)
    assert replace(nothing, method="brine", pick_up=Fraction(1, 10)).by_pick_up() == 0
    assert line("x", "salt", 0).off(1) == line("x", "salt", 1).off(-1) == 0 and line("x", "salt", 1).off(1) == 2
    pumped = replace(batch, method="injected", pumped=line("pumped", "pumped", 1))
    assert pumped.left_in_the_rest("meat") == pumped.left_in_the_rest("mix") == 1
    # Half salt, half water
    half = replace(batch, cure=None, pack=None, lines=(line("meat", "meat", 1), line("water", "water", 3)), salt=line("salt", "salt", 3))
    assert cure.brine_strength(half) == Fraction(1, 2)


def test_a_label_that_names_only_the_most_is_judged_at_its_most_and_relied_on_for_nothing():
    pack = Pack.of(replace(read_amount("0.6 %", "share", ("%",)), low=Fraction(0)), "NaNO2")
    assert [pack.nitrite(case) for case in cure.CASES] == [0, Fraction("0.006"), Fraction("0.006")]
    assert [pack.salt(case) for case in cure.CASES] == [Fraction("0.994"), Fraction("0.997"), 1]


def test_without_a_curing_salt_there_is_no_nitrite():
    recipe = a_recipe(lines=[water(250), {"name": "Soy with salt", "role": "garnish", "amount": "50 g", "salt": "10 %"}])
    batch = cure.uncured(recipe, Fraction(1000), scales_of("1 g"))
    assert batch.cure is None and batch.pack is None and batch.everything == (*batch.lines, batch.salt)
    assert all(batch.nitrite(per, case) == 0 for per in ("meat", "mix") for case in cure.CASES)
    # 2.1 % of the mix: salt + 5 = 0.021 (1300 + salt)
    exact = (Fraction("0.021") * 1300 - 5) / (1 - Fraction("0.021"))
    assert batch.salt.grams == exact and batch.salt.weighed == 23
    assert batch.salt_share("mix", "nominal") == (23 + 5) / Fraction(1323) and batch.salt_share("meat", "nominal") == Fraction(28, 1000)
    assert cure.brine_strength(batch) == Fraction(23) / (23 + 250)


def test_the_lines_alone_where_no_dose_is():
    recipe = a_recipe(lines=[water(250), {"name": "Spice", "role": "spice", "amount": "1 %", "per": "mix"}])
    batch = cure.unsalted(recipe, Fraction(1000), scales_of("1 g", "0.1 g"))
    assert batch.cure is None and (batch.salt.grams, batch.salt.weighed) == (0, 0)
    spice = batch.lines[-1]
    assert spice.grams == Fraction(1250) / 99 and spice.weighed == Fraction("12.6") and spice.scale.step == Fraction("0.1")
    assert batch.mix_grams == 1250 + Fraction("12.6")


def test_what_leaves_no_room_for_anything_but_salt_is_impossible():
    # A twentieth of the kettle must be left for what is neither salt nor a share of it.
    filler = {"name": "Filler", "role": "binder", "per": "mix"}
    for share, salt, room in (("82.9 %", "12 %", True), ("83 %", "12 %", True), ("83.1 %", "12 %", False), ("89 %", "12 %", False)):
        recipe = a_recipe(nitrite="1 mg/kg", salt=salt, lines=[{**filler, "amount": share}])
        assert cure.possible(recipe, Fraction(1000)) is room, share
        found = cure.solve(recipe, Fraction(1000), pack_of("6.25 %"), scales_of("0.0001 g"), ())
        if share != "83 %":  # there the curing salt itself takes the last hair of room
            assert found.impossible is (not room) and (found.batch is None) is (not room)
        if not room:
            assert (found.wished, found.lowered_for, found.conflict, found.no_dose) == (0, None, None, False)
    with pytest.raises(Impossible, match="^salt and curing salt fill the kettle$"):
        cure.judge_stated(a_recipe(salt="12 %", lines=[{**filler, "amount": "89 %"}]), Fraction(1000), pack_of("6.25 %"), scales_of("1 g"), Fraction(1))


def test_a_share_of_the_pickle_with_no_water_in_it_is_impossible():
    recipe = a_recipe("injected", lines=[{"name": "Water", "role": "water", "amount": "10 %", "per": "mix"}])
    assert not cure.possible(recipe, Fraction(1000)) and cure.solve(recipe, Fraction(1000), pack_of("6.25 %"), scales_of("1 g"), ()).impossible


# ------------------------------------------------------------------ two targets that exclude each other


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_a_conflict_tells_what_would_do_exactly(data):
    """Each of its three figures, put back into the equations, meets them with no plain salt at all."""
    method = data.draw(st.sampled_from(["ground", "dry", "brine"]))
    recipe, label = data.draw(recipes(method)), data.draw(st.sampled_from(["0.4-0.5 %", "0.6 %", "0.4 %"]))
    recipe = recipe.with_targets(salt=replace(recipe.targets.salt, low=Fraction(1, 100), high=Fraction(1, 100)))
    meat, pack = Fraction(1000), pack_of(label)
    found = cure.solve(recipe, meat, pack, scales_of("0.1 g"), ())
    if not found.conflict:
        return
    judge_conflict(found, recipe, method, pack)


@pytest.mark.parametrize("per", ["meat", "mix"])
@pytest.mark.parametrize("salt_per", ["meat", "mix"])
@pytest.mark.parametrize("method", ["ground", "brine"])
@pytest.mark.parametrize("lines", [(), EXTRAS, ({"name": "Soy with salt", "role": "garnish", "amount": "99.9 g", "salt": "10 %"},), ({"name": "Miso with salt", "role": "garnish", "amount": "20 %", "per": "mix", "salt": "12 %"},)])
def test_conflicts_of_a_few_recipes(method, per, salt_per, lines):
    recipe = a_recipe(method, nitrite="120 mg/kg", per=per, salt="1 %", salt_per=salt_per, lines=[water(250), *lines])
    found = cure.solve(recipe, Fraction(1000), pack_of("0.4-0.5 %"), scales_of("0.1 g"), ())
    assert found.conflict
    judge_conflict(found, recipe, method, pack_of("0.4-0.5 %"))


def judge_conflict(found, recipe, method: str, pack: Pack) -> None:
    meat = Fraction(1000)
    conflict, targets = found.conflict, recipe.targets
    assert found.batch is None and not found.no_dose and found.wished > 0
    fixed = sum(i.share for i in recipe.ingredients if i.per == "meat") * meat
    shares = sum((i.share for i in recipe.ingredients if i.per == "mix"), Fraction(0))
    salty = sum((i.share * i.salt for i in recipe.ingredients if i.per == "meat"), Fraction(0)) * meat
    salty_share = sum((i.share * i.salt for i in recipe.ingredients if i.per == "mix"), Fraction(0))

    def bases(kettle):
        return {per: meat if per == "meat" and method != "brine" else kettle for per in ("meat", "mix")}

    nitrite = targets.nitrite.value * SODIUM[targets.nitrite_as]
    # The kettle of the wished dose: with so much (negative) plain salt that the salt target is met.
    if targets.nitrite_per == "mix" or method == "brine":
        kettle = found.wished * pack.high / nitrite
    else:
        assert found.wished == nitrite * meat / pack.high
        share = Fraction(1, 100) if targets.salt_per == "mix" or method == "brine" else Fraction(0)
        add = Fraction(0) if share else meat / 100
        kettle = (fixed + found.wished * (1 - pack.salt_low) - salty + add) / (1 - shares + salty_share - share)
    assert conflict.salt_wanted == Fraction(1, 100)
    assert conflict.salt_brought == (found.wished * pack.salt_low + salty + salty_share * kettle) / bases(kettle)[targets.salt_per] > conflict.salt_wanted
    # At the nitrite that is possible the curing salt alone carries the salt that is wanted.
    some = conflict.nitrite_possible
    per_kettle = targets.nitrite_per == "mix" or method == "brine"
    if some:
        grams = some * fixed / (1 - shares) / (pack.high - some / (1 - shares)) if per_kettle else some * meat / pack.high
        kettle = (fixed + grams) / (1 - shares)
        assert grams * pack.salt_low + salty + salty_share * kettle == Fraction(1, 100) * bases(kettle)[targets.salt_per]
        assert conflict.strength_needed == min(1, nitrite * bases(kettle)[targets.nitrite_per] / grams)
    else:
        assert conflict.strength_needed == 1
    assert conflict.strength_needed > pack.high


def test_a_curing_salt_may_overshoot_the_salt_by_a_fiftieth_and_no_more():
    """Salt wanted on the meat; the cure alone brings exactly so much more."""
    for over, taken in ((Fraction(102, 100), True), (Fraction(10201, 10000), False)):
        grams = 25 * over  # of a 0.5 % salt, for 25 * 0.995 g of salt wanted on a kilo
        recipe = a_recipe(per="meat", salt_per="meat", lines=[{"name": "Spice", "role": "spice", "amount": "1 %", "per": "mix"}])
        wanted, nitrite = Fraction("24.875") / 1000, grams * Fraction("0.005") / 1000
        recipe = recipe.with_targets(salt=replace(recipe.targets.salt, low=wanted, high=wanted), nitrite=replace(recipe.targets.nitrite, low=nitrite, high=nitrite))
        found = cure.solve(recipe, Fraction(1000), pack_of("0.5 %"), scales_of("0.1 g"), ())
        assert (found.batch is not None) is taken and (found.conflict is None) is taken
        if taken:
            assert found.batch.salt.weighed == 0
            # What goes by the whole mix goes by the mix as it then is, with no plain salt in it.
            assert found.batch.lines[-1].grams == (1000 + found.batch.cure.weighed) / 99


# ------------------------------------------------------------------ ceilings


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_the_dose_is_the_largest_that_every_ceiling_takes(data):
    """Found again by trying every step from the wish down, with nothing of the solver's short cut."""
    method = data.draw(st.sampled_from(METHODS))
    recipe, meat, label = data.draw(recipes(method)), Fraction(data.draw(st.integers(300, 3000))), data.draw(st.sampled_from(["2-2.5 %", "6.25 %", "10 %"]))
    kitchen = scales_of("1 g", data.draw(st.sampled_from([None, "0.1 g"])))
    ceilings = tuple(Ceiling(str(n), data.draw(st.integers(20, 200)) * PPM, data.draw(st.sampled_from(["meat", "mix"]))) for n in range(data.draw(st.integers(1, 3))))
    judge_largest(recipe, meat, label, kitchen, ceilings)


@pytest.mark.parametrize("label", ["2.5 %", "6.25 %", "10 %"])
@pytest.mark.parametrize("ppm", [40, 53, 66])
@pytest.mark.parametrize("per", ["meat", "mix"])
def test_where_few_steps_are_left_the_largest_is_taken(label, ppm, per):
    recipe = a_recipe(nitrite="250 mg/kg", lines=[water(250)])
    judge_largest(recipe, Fraction(300), label, scales_of("1 g", "0.1 g"), (Ceiling("x", ppm * PPM, per),))


def judge_largest(recipe, meat: Fraction, label: str, kitchen, ceilings: tuple[Ceiling, ...]) -> None:
    found = cure.solve(recipe, meat, pack_of(label), kitchen, ceilings)
    if found.conflict or found.impossible:
        return
    step = kitchen.for_cure.step
    dose, broken = on_steps(found.wished, step, down=False), None
    while dose > 0:
        batch = cure.judge_stated(recipe, meat, pack_of(label), kitchen, dose)
        passed = [c for c in ceilings if batch.nitrite(c.per, "high") > c.share]
        if not passed:
            break
        broken, dose = passed[0], dose - step
    if dose <= 0:
        assert found.no_dose and found.batch is None
    else:
        assert found.batch.cure.weighed == dose and not found.no_dose
        # Where one lowered it first another may do so further down: it is one of those that were passed.
        assert (found.lowered_for is None) == (broken is None)
    if found.lowered_for:
        assert found.lowered_for in ceilings


def test_the_ceiling_that_lowered_the_dose_is_named():
    tight, loose = Ceiling("tight", 50 * PPM, "mix"), Ceiling("loose", 100 * PPM, "mix")
    recipe = a_recipe(lines=[water(250)])
    for ceilings in ((tight, loose), (loose, tight)):
        found = cure.solve(recipe, Fraction(1000), pack_of("6.25 %"), scales_of("1 g", "0.01 g"), ceilings)
        assert found.lowered_for == tight and found.batch.cure.weighed < found.wished
    fits = cure.solve(recipe, Fraction(1000), pack_of("6.25 %"), scales_of("1 g", "0.01 g"), (Ceiling("wide", 500 * PPM, "mix"),))
    assert fits.lowered_for is None and cure.over(fits.batch, (tight, loose)) == tight and cure.over(fits.batch, (loose, tight)) == loose
    at = fits.batch.nitrite("mix", "high")
    assert cure.over(fits.batch, (Ceiling("exact", at, "mix"),)) is None and cure.over(fits.batch, ()) is None


def test_not_even_one_step_is_no_dose():
    for per in ("meat", "mix"):
        # Wished: 0.034 g; half a gram is the nearest step.
        found = cure.solve(a_recipe(), Fraction(200), pack_of("6.25 %"), scales_of("0.5 g"), (Ceiling("x", 100 * PPM, per),))
        assert found.no_dose and found.batch is None and found.conflict is None and found.impossible is False and found.wished > 0
        assert found.lowered_for == Ceiling("x", 100 * PPM, per)
