"""Links broken on their way or made by an enemy: a whole link or nothing, and no link alone gives a dose."""

from __future__ import annotations

from helpers.attacks import BARBS, Slowest, assert_not_grossly_wrong, attacked, broken
from helpers.kitchens import LOAF, RECIPES, fill_shelf
from hypothesis import given
from hypothesis import strategies as st

from curebatch import entry
from curebatch.fields import FIELDS, field_of
from curebatch.intake.link import check_of, decode, encode

REFS = sorted(path.stem for path in RECIPES.glob("*.toml"))
KITCHENS = (
    {"pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g", "meat": "2.4 kg"},
    {"pack": "0.4-0.5 %", "scale": "1 g", "region": "eu", "meat": "30 kg"},
    {"pack": "0.5 %", "pack_as": "KNO2", "scale": "0.1 oz", "region": "us", "meat": "5 lb 3 oz", "salt": "2.1 %", "salt_per": "mix"},
    {"pack": "5.88 %", "fine_scale": "0.01 g", "region": "ca", "nitrite": "100 mg/kg", "nitrite_as": "NaNO2", "nitrite_per": "meat", "stated": "3 g"},
    {},
)
OWN = (RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8").replace('"pistachio-pork-loaf"', '"harbour-loaf"')
SEEDS = [
    *(encode({"recipe": ref, **kitchen}, kitchen=True) for ref in REFS for kitchen in KITCHENS),
    *(f"https://example.org/kitchen/recipes/x/?utm_source=a#{encode({'recipe': ref, **KITCHENS[0]}, kitchen=False)}" for ref in REFS[:2]),
    encode({"found_cure": "20 g", "found_meat": "1 kg", "found_pack": "0.5 %", "found_salt": "5 g", **KITCHENS[0]}, kitchen=True),
    encode({"own": OWN, **KITCHENS[0]}, kitchen=True),
]
# What the dose hangs on.
WEIGHTY = ("pack", "pack_as", "pack_nitrate", "scale", "fine_scale", "region", "meat", "batch", "stated", "nitrite", "nitrite_as", "nitrite_per", "salt", "salt_per", "pump") * 4
SOUND = {seed: decode(seed)[0] for seed in SEEDS}
altered, forged = Slowest("links altered"), Slowest("links forged")
fill_shelf()


def signed(pairs: list[tuple[str, str]]) -> str:
    """A link with these pairs and the check that belongs to them, as anybody can make one."""
    from urllib.parse import quote

    pairs = [("v", "1"), *pairs]
    return "&".join(f"{quote(key, safe='')}={quote(text, safe='', errors='surrogatepass')}" for key, text in [*pairs, ("check", check_of(pairs))])


@attacked
@given(broken(SEEDS))
def test_an_altered_link_is_whole_or_nothing(text):
    given, faults = altered.run(decode, text)
    assert not (given and faults)
    for fault in faults:
        assert fault.text and len(fault.text) < 1000 and all(sign.isprintable() for sign in fault.text)
    if given:
        # All its pairs agree with its check: one of the seeds, or one with 20 bits of luck.
        assert given in SOUND.values() or check_of([("v", "1"), *given.items()]) in text
        assert decode(encode(given, kitchen=True))[1] == []


@st.composite
def forgeries(draw):
    pairs = dict(draw(st.sampled_from(list(SOUND.values()))))
    keys = [field.key for field in FIELDS] + ["use.ice", "use.back-fat", "price.salt", "own", "__proto__", "check", "v", "use.", "pack_check"]
    for _ in range(draw(st.integers(1, 2))):
        key = draw(st.sampled_from((*keys, *WEIGHTY)))
        field = field_of(key)
        samples = [*(field.choices if field else ()), field.example if field and field.example else "1 kg", pairs.get(key) or "6.25 %"]
        # Mostly what can be read, or no card would come of it.
        pairs[key] = draw(st.sampled_from(BARBS)) if not draw(st.integers(0, 7)) else draw(broken(samples, most=1, least=0))
    return list(pairs.items())


@attacked
@given(forgeries())
def test_a_forged_link_alone_gives_no_dose_and_a_confirmed_one_no_unsafe_one(pairs):
    link = signed(pairs)
    page = "found" if any(key.startswith("found") for key, _ in pairs) else "recipe"

    def made(**more):
        reading = entry.read({"page": page, "link": link, **more})
        return reading, entry.card_of(reading, page, whole=False)

    reading, card = forged.run(lambda _: made(), link)
    assert card["cure"] is None and not [row for row in card["amounts"] if row["role"] == "curing_salt"]
    assert_not_grossly_wrong(card, reading.document)
    label, compound = dict(pairs).get("pack", ""), dict(pairs).get("pack_as", "NaNO2")
    reading, card = forged.run(lambda _: made(confirmed_packs=[f"{label} {compound}"]), link)
    assert_not_grossly_wrong(card, reading.document)
