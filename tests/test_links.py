"""Links: what goes out comes back; what is cut, altered or newer is found out."""

import json
import re

import pytest
from helpers.kitchens import LOAF, fill_shelf
from hypothesis import given, settings, strategies as st

import curebatch
from curebatch import entry, shelf
from curebatch.fields import FIELDS
from curebatch.intake.link import VERSION, check_of, decode, encode
from curebatch.words import say

SAMPLES = {"mass": "2.4 kg", "percent": "2.1 %", "ratio": "104 mg/kg", "length": "45 mm", "count": "30", "tin": "2 x loaf 24 x 9 bottom 22 x 8 depth 7 cm", "text": LOAF, "temperature": "-2 °C", "difference": "0.5 °C", "time": "2 min", "heat": "48-56 kJ/kg", "places": "10.5 °C; 51 °F", "readings": "23:40 60 °C; 0:10 158 °F"}
USED = {"use.ice": "300 g", "use.back-fat": "400 g"}
ENTRIES = {f.key: f.choices[-1] if f.choices else SAMPLES.get(f.kind, f.example) for f in FIELDS if f.key != "pack_check"} | USED


def answer(**given):
    fill_shelf()
    return json.loads(curebatch.answer(json.dumps({"id": 1, "input": given})))


def test_a_full_card_link_comes_back():
    back, faults = decode(encode(ENTRIES, kitchen=True))
    assert not faults
    assert {key: text.replace(" ", "") for key, text in back.items()} == {key: text.replace(" ", "") for key, text in ENTRIES.items()}
    assert encode(back, kitchen=True) == encode(ENTRIES, kitchen=True)


texts = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=20).map(str.strip).filter(bool)


@given(st.dictionaries(st.sampled_from([*ENTRIES]), texts))
def test_any_text_survives(entries):
    once = encode(entries, kitchen=True)
    back, faults = decode(once)
    assert not faults and encode(back, kitchen=True) == once


def test_the_recipe_link_never_carries_the_kitchen():
    link = encode({**ENTRIES, "pack_check": "6.25 %"}, kitchen=False)
    assert not {"pack=", "scale=", "region=", "stated=", "pack_check=", "fine_scale=", "tin=", "tin_2=", "tin_3=", "headroom=", "spoons="} & {part.split("=")[0] + "=" for part in link.split("&")}
    assert "pack_check" not in encode({**ENTRIES, "pack_check": "6.25 %"}, kitchen=True)


def test_a_link_cut_at_any_place_is_found_out():
    link = encode(ENTRIES, kitchen=True)
    for end in range(1, len(link)):
        back, faults = decode(link[:end])
        assert back == {} and faults, link[:end]


@settings(max_examples=300)
@given(st.integers(0, 10**6), st.sampled_from("0123456789abcxyz.%&=+"))
def test_a_link_altered_at_any_place_is_found_out(place, sign):
    link = encode(ENTRIES, kitchen=True)
    place %= len(link)
    if link[place] == sign:
        return
    altered = link[:place] + sign + link[place + 1:]
    back, faults = decode(altered)
    assert faults or back == decode(link)[0]


def test_trackers_are_ignored_wherever_they_stand():
    link = encode(ENTRIES, kitchen=True)
    assert decode(link + "&fbclid=abc&utm_source=x") == decode(link)
    assert decode(f"https://example.org/recipes/x/?utm_campaign=a&gclid=1#{link}") == decode(link)


def newer(*pairs):
    pairs = [("v", VERSION), *pairs]
    return "&".join(f"{k}={v}" for k, v in [*pairs, ("check", check_of(pairs))])


@pytest.mark.parametrize(
    "link, code",
    [
        (newer(("recipe", LOAF), ("smoke", "yes")), "link_newer"),
        ("v=2&recipe=x&check=2222", "link_version"),
        ("recipe=x&check=2222", "link_cut"),
        ("v=1&meat=1kg&meat=2kg&check=2222", "link_twice"),
        ("v=1&meat=%ff&check=2222", "link_damaged"),
        ("v=1&meat=1kg", "link_cut"),
        ("x" * 9000, "link_too_long"),
    ],
)
def test_faults_of_links(link, code):
    back, faults = decode(link)
    assert back == {} and faults[0].code == code


def test_a_faulty_link_gives_no_card_in_its_place():
    given = answer(page="recipe", recipe=LOAF, link="v=1&meat=9kg&check=2222")
    assert given["card"]["verdict"] == "incomplete" and given["card"]["amounts"] == [] and given["links"] == {}
    # Nobody typed it.
    assert given["card"]["verdict_text"] == say("verdict.link") and "list of recipes" in given["faults"][0]["text"]


def test_a_bad_value_in_a_sound_link_is_named():
    given = answer(page="recipe", recipe=LOAF, link=newer(("recipe", LOAF), ("meat", "1,500g")))
    assert [fault["field"] for fault in given["faults"]] == ["meat"] and given["card"]["amounts"] == []


def test_a_recipe_link_shows_no_dose_before_the_pack():
    mine = answer(page="recipe", recipe=LOAF, fields={"pack": "6.25 %", "meat": "3 kg", "fine_scale": "0.1 g"})
    theirs = answer(page="recipe", recipe=LOAF, link=mine["links"]["recipe"])
    assert theirs["card"]["cure"] is None and theirs["fields"]["meat"] == "3 kg" and "pack" not in theirs["fields"]
    assert theirs["links"]["recipe"] == mine["links"]["recipe"]


def test_a_card_link_asks_for_the_pack_once():
    mine = answer(page="recipe", recipe=LOAF, fields={"pack": "6.25 %", "meat": "3 kg", "fine_scale": "0.1 g"})
    link = mine["links"]["card"]
    asked = answer(page="recipe", recipe=LOAF, link=link)
    assert asked["card"]["confirm"]["label"] == "6.25 %" and asked["card"]["cure"] is None
    # The pack is stated: only that it says so is missing, and the line at the foot of a phone says which.
    assert asked["card"]["verdict_text"] == say("verdict.confirm") and say("view.bar_confirm") in asked["sections"]["bar"]
    known = answer(page="recipe", recipe=LOAF, link=link, confirmed_packs=["6,25 %"])
    assert known["card"]["cure"] == mine["card"]["cure"]
    other = answer(page="recipe", recipe=LOAF, link=link, confirmed_packs=["0.5 %"])
    assert other["card"]["cure"] is None
    said = answer(page="recipe", recipe=LOAF, link=link, fields={"pack_check": "6.25 %"})
    assert said["card"]["cure"] == mine["card"]["cure"]


def test_a_link_of_a_found_recipe_goes_to_its_page():
    mine = answer(page="found", fields={"found_cure": "20 g", "found_meat": "1 kg", "found_pack": "0.5 %"})
    moved = answer(page="recipe", recipe=LOAF, link=mine["links"]["recipe"])
    assert moved["go"].startswith("found/#v=1&found_cure=20g")


def test_a_link_from_before_the_names_were_settled_opens():
    pairs = [("v", "0"), ("recipe", LOAF), ("meat", "2kg")]
    old = "&".join(f"{key}={value}" for key, value in [*pairs, ("check", check_of(pairs))])
    assert decode(old) == ({"recipe": LOAF, "meat": "2kg"}, [])
    assert encode(decode(old)[0], kitchen=True).startswith("v=1&recipe=")


def test_the_card_link_of_each_recipe_with_a_whole_kitchen_is_short():
    fill_shelf()
    kitchen = {
        "meat": "2.4 kg", "pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g", "region": "us",
        "tin": "box 30 x 10 x 8 cm", "oven": "fan_oven", "chill": "iced_water",
    }  # fmt: skip
    for ref in shelf.refs():
        fields = {key: text for key, text in kitchen.items() if key != "tin" or shelf.get(ref)[0].method == "ground"}
        reading = entry.read({"page": "recipe", "recipe": ref, "fields": fields})
        assert not reading.faults, ref
        link = entry.links_of(reading.document)["card"]
        assert set(fields) <= set(decode(link)[0]) and len(link) <= 250, (ref, len(link))


def by_hand(*pairs) -> str:
    """A link written out from the words of the contract: readable pairs, the check over all of them last."""
    import hashlib

    body = "&".join(f"{key}={value}" for key, value in pairs)
    bits = f"{int(hashlib.sha256(body.encode()).hexdigest()[:6], 16):024b}"[:20]
    letters = "23456789abcdefghjkmnpqrstuvwxyz0"
    return "".join(letters[int(bits[start : start + 5], 2)] for start in (0, 5, 10, 15))


@pytest.mark.parametrize("pairs", [[("v", "1")], [("v", "1"), ("recipe", LOAF), ("meat", "2.4kg")], [("v", "1"), ("recipe", "ä ß \u20ac"), ("beside", "x&y=z")]])
def test_the_check_is_twenty_bits_of_the_digest_of_all_pairs(pairs):
    assert check_of(pairs) == by_hand(*pairs) and len(check_of(pairs)) == 4


def test_a_link_is_written_in_the_order_of_the_table_with_plain_signs():
    entries = {"use.ice": "300 g", "pack": "6.25 %", "meat": "2.4 kg", "recipe": LOAF, "tin": "box 30 x 10 x 8 cm", "core": "72 °C", "salt": "", "pack_check": "6.25 %"}
    start = f"v=1&recipe={LOAF}&meat=2.4kg"
    shared, kitchen = f"{start}&core=72%C2%B0C&use.ice=300g", f"{start}&core=72%C2%B0C&pack=6.25%25&tin=box+30x+10x+8cm&use.ice=300g"
    assert encode(entries, kitchen=False).rpartition("&check=")[0] == shared
    assert encode(entries, kitchen=True).rpartition("&check=")[0] == kitchen
    assert encode({"recipe": "/:.,-~ a+b&c=d%"}, kitchen=True).split("&")[1] == "recipe=/:.,-~+a%2Bb%26c%3Dd%25"
    assert encode({"own": "a = 1\n", "recipe": LOAF}, kitchen=False).split("&")[:3] == ["v=1", "own=a+%3D+1%0A", f"recipe={LOAF}"]
    assert encode({}, kitchen=True) == f"v=1&check={check_of([('v', '1')])}" == encode({"own": ""}, kitchen=True)


def sealed(*pairs) -> str:
    """The pairs as they stand, with the check that belongs to them."""
    return "&".join([*(f"{key}={value}" for key, value in pairs), f"check={check_of(list(pairs))}"])


GOOD = sealed(("v", "1"), ("recipe", LOAF), ("meat", "2kg"))


@pytest.mark.parametrize("link", [
    GOOD, f"#{GOOD}", f"?{GOOD}", f"  {GOOD}\n", f"https://example.org/recipes/x/#{GOOD}", f"https://example.org/?{GOOD}", f"https://example.org/?{GOOD}#top", f"https://example.org/?fbclid=1#{GOOD}", f"{GOOD}&", f"&&{GOOD}",
    f"{GOOD}&meat=2kg", GOOD.replace("&check", "&meat=2kg&check"), f"##{GOOD}", f"https://example.org/?si=1?meat=3kg#{GOOD}", f"https://example.org/?si=1?x&{GOOD}", f"utm_source=x&{GOOD}", GOOD.replace("&", "&&"), f"https://example.org/?utm_id=1&gclid=2&msclkid=3&mc_cid=4&mc_eid=5&igshid=6&si=7#{GOOD}",
])  # fmt: skip
def test_a_link_is_read_wherever_it_stands(link):
    assert decode(link) == ({"recipe": LOAF, "meat": "2kg"}, [])


@pytest.mark.parametrize("link", ["", " ", "#", "?", "https://example.org/", "https://example.org/?utm_source=x", "fbclid=1&si=2", "#fbclid=1"])
def test_nothing_given_is_no_fault(link):
    given = decode(link)
    assert given == ({}, []) or link == "https://example.org/" and given[0] == {}


@pytest.mark.parametrize("link, told", [
    (sealed(("v", "1"), ("smoke", "yes"), ("wood", "oak")), [("link", "link_newer", "smoke"), ("link", "link_newer", "wood")]),
    (sealed(("v", "1"), ("recipe", LOAF), ("pack_check", "9%")), [("link", "link_newer", "pack_check")]),
    (sealed(("v", "1"), ("utm_", "x")), [("link", "link_newer", "utm_")]), (sealed(("v", "1"), ("utm_x" * 8, "x")), [("link", "link_newer", "utm_x" * 8)]), (sealed(("v", "1"), ("xfbclid", "x")), [("link", "link_newer", "xfbclid")]),
    ("v=2&recipe=x&check=2222", [("link", "link_version", "2")]), ("v=&recipe=x&check=2222", [("link", "link_version", "")]), ("v=01&check=2222", [("link", "link_version", "01")]),
    ("recipe=x&check=2222", [("link", "link_cut", "recipe=x&check=2222")]), ("v=1&recipe=x&check=2222", [("link", "link_cut", "v=1&recipe=x&check=2222")]), (GOOD[:-1], [("link", "link_cut", GOOD[:-1])]), ("v=1&me", [("link", "link_cut", "v=1&me")]),
    (GOOD.partition("&check")[0], [("link", "link_cut", GOOD.partition("&check")[0])]), ("v=1&meat=1kg&meat=2kg", [("meat", "link_twice", "2kg")]), ("v=1&smoke=1&smoke=2", [("link", "link_twice", "2")]), ("v=1&v=2", [("link", "link_twice", "2")]),
    (f"https://example.org/?meat=3kg#{GOOD}", [("meat", "link_twice", "2kg")]), (f"https://example.org/?utm_x=1?si&meat=3kg#{GOOD}", [("meat", "link_twice", "2kg")]), (f"https://e/#{GOOD}#x", [("link", "link_cut", f"https://e/#{GOOD}#x")]),
    (f"https://e/?si=1#{GOOD}#x", [("link", "link_cut", f"https://e/?si=1#{GOOD}#x")]), (f"https://e/#meat=3kg#{GOOD}", [("meat", "link_twice", "2kg")]), (f"https://e/?{GOOD}#x#y=1", [("link", "link_cut", f"https://e/?{GOOD}#x#y=1")]), (f"X{GOOD}", [("link", "link_cut", f"X{GOOD}")]),
    ("v=1&meat=%ff&salt=%fe", [("link", "link_damaged", "meat=%ff"), ("link", "link_damaged", "salt=%fe")]), ("%ff=1", [("link", "link_damaged", "%ff=1")]),
    (sealed(("recipe", LOAF), ("v", "1")), [("link", "link_damaged", sealed(("recipe", LOAF), ("v", "1")))]),
    (f"check={check_of([('v', '1'), ('meat', '2kg')])}&v=1&meat=2kg", [("link", "link_damaged", f"check={check_of([('v', '1'), ('meat', '2kg')])}&v=1&meat=2kg")]),
])  # fmt: skip
def test_what_is_wrong_with_a_link_is_told_and_nothing_of_it_is_used(link, told):
    back, faults = decode(link)
    assert back == {} and [(fault.field, fault.code, fault.read) for fault in faults] == [(field, code, read if len(read) <= 60 else read[:59] + "…") for field, code, read in told]
    for fault in faults:
        if fault.code == "link_twice":
            assert re.match(r"The link gives “(meat|smoke|v)” twice: “[13]", fault.text)
        if fault.code == "link_newer":
            assert f"“{fault.read[:20]}" in fault.text


def test_a_sign_of_equality_may_stand_in_a_value():
    assert decode(sealed(("v", "1"), ("beside", "a=b"))) == ({"beside": "a=b"}, [])
    assert "&price.ice=9.80EUR/kg&" in encode({"price.ice": "9.80 EUR/kg"}, kitchen=True)


def test_a_link_with_half_a_sign_is_damaged():
    assert len(check_of([("a", "\ud800")])) == 4
    back, (fault,) = decode("v=1&recipe=\ud800&check=2222")
    assert back == {} and fault.code == "link_damaged"


def test_how_long_a_link_may_be():
    from curebatch.intake.link import LONGEST
    from curebatch.intake.recipe import MOST_TEXT

    assert LONGEST == 8000
    assert decode("x" * LONGEST)[1][0].code == "link_cut" and decode("x" * (LONGEST + 1))[1][0].code == "link_too_long"
    # The file of a recipe may be as long as a file may be, each sign four bytes of three characters; the rest no longer than ever.
    file = "own=" + "a" * (12 * MOST_TEXT - 4)
    assert decode(f"v=1&{file}")[1][0].code == "link_cut" and decode(f"v=1&{file}a")[1][0].code == "link_too_long"
    assert decode(f"https://example.org/?{file}&{'y' * (LONGEST + 1)}")[1][0].code == "link_too_long" and decode("own" + "a" * (LONGEST + 1))[1][0].code == "link_too_long"
    assert decode(f"https://example.org/#{file}")[1][0].code == "link_cut"
    rest = f"v=1&check={'2' * (LONGEST - len('v=1&check=&'))}&"
    assert len(rest) == LONGEST and decode(rest + "own=a" + "a" * 100)[1][0].code == "link_cut" and decode(f"{rest}&own=a" + "a" * 100)[1][0].code == "link_too_long"
    assert decode("v=1&own=a&own=" + "b" * 9000)[1][0].code == "link_twice"
    (fault,) = decode("x" * (LONGEST + 1))[1]
    assert (fault.field, fault.read) == ("link", "x" * 59 + "…")
    long = encode({"own": "ä" * 5000, "recipe": LOAF}, kitchen=False)
    assert len(long) > LONGEST and decode(long) == ({"own": "ä" * 5000, "recipe": LOAF}, [])


@pytest.mark.parametrize("link", ["#v=1&recipe=pistachio-pork-loaf.1&meat=3+kg&check=0000", "v=9&recipe=x", "#v=1&recipe=pistachio-pork-lo", "found_cure=20 g"])
def test_a_faulty_link_says_its_own_fault_and_no_other(link):
    fill_shelf()
    faults = entry.read({"page": "recipe", "link": link}).faults
    assert len(faults) == 1 and faults[0].field == "link" and "recipe “”" not in faults[0].text
    # Where the page names a recipe of its own, that one is still looked for.
    assert {one.field for one in entry.read({"page": "recipe", "link": link, "recipe": "nowhere.1"}).faults} == {"link", "recipe"}
