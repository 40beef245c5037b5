"""The ingredients of a recipe file: amounts by weight, share or spoon, and what each is made of."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from unicodedata import normalize

from ..batch import additives, allergens, foods, spoons
from ..batch.refusal import Refused
from ..fields import BASES, MASS, PERCENT, SPOONS
from ..words import say
from .numbers import Misread, show, tidy
from .reader import Reader
from .signs import spoken
from .units import Amount, read_amount

ROLES = ("meat", "fat", "water", "ice", "accelerator", "phosphate", "leavening", "binder", "starch", "sugar", "spice", "garnish")
BLOCK = ("meat", "fat")
_KIND_OF = {"chicken": "poultry", "turkey": "poultry", "duck": "poultry"}  # of an animal that the food table tells apart
FIGURES = ("curing_salt", "salt", "core", "hold", "days")  # what a step may name besides ingredients
ID = re.compile(r"[a-z][a-z0-9-]{1,40}")
MOST_INGREDIENTS = 300
MOST_NAME = 300  # signs of a name: a log keeps no longer one
KEYS = ("id", "name", "role", "amount", "per", "form", "food", "fat", "animal", "salt", "substance", "p2o5", "pack_list", "allergens")
_GOODS = r"(?:fleisch|rippe|zunge|bauch|ware|schinken|speck|nacken|hals|keule|haxe|braten|brust)"
# A salt or a cure among the ingredients would be counted by nobody.
_CURES = re.compile(
    r"curing|nitri|nitra|saltpet|salt ?pet|\bcure\b|\bE[ -]?(?:249|25[0-2])\b|\b(?:Na|K|Ca|Mg)[\s·.(-]*N[\s.-]*O[\s.-]*[23](?![0-9])"
    rf"|(?<!ge)p(?:ö|oe)kel(?!n?-?{_GOODS}|t)|\bsur(?:salz|lake|mischung|gewürz)|salpeter|\bNPS\b"
    # What is said of a cure by its colour; a mountain's salt may be pink as well.
    r"|(?<!himalaya )(?<!himalayan )\b(?:pink|rosa(?:farben)?e?[mnrs]?)[ -]?(?:salt|salz|stuff|powder|pulver|zeug|crystals|kristalle)",
    re.I,
)
# Vegetables that the trade makes cures of, once they are dry, pressed or cultured.
_CURE_PLANT = re.compile(
    r"celery(?! ?(?:seed|salt))|sellerie(?!-?(?:samen|saat|salz))|spinach|spinat|\bbeets?\b(?! ?sugar)|beet ?root|rote[ -]?(?:be+te|rübe)|randen|\bchard|mangold|arugula|rucola|lettuce"
    r"|vegetable(?! ?(?:stock|broth|bouillon|oil|fat))|gem(?:ü|ue)se(?!-?(?:br|bouillon|fond|suppe|öl|fett))",
    re.I,
)
_AS_CURE = re.compile(r"powder|juic|concentrat|extract|ferment|cultur|pulver|saft|konzentrat|extrakt", re.I)
# Meat that has its cure already, or was smoked or dried: fresh does not undo it.
_CURED_MEAT = re.compile(
    r"corned|salami|prosciutto|pastrami|\bcured\b"
    rf"|(?<!un)gep(?:ö|oe)kelt|r(?:ä|ae)ucher-?{_GOODS}|rauch(?:fleisch|speck)|p(?:ö|oe)keln?-?{_GOODS}|surfleisch"
    r"|roh(?:schinken|wurst|polnische)|mettwurst|cervelat|landj(?:ä|ae)ger|pancetta|guanciale|coppa\b|chorizo|kass(?:elle|ele|le)r|bündner"
    r"|mortadella|\bwieners?(?:le)?\b|frankfurter|sausage|wurst|würst|w(?:ue)rst|saucisson|hot ?dog|bologna\b",
    re.I,
)
# Butter and nuts are salted, and paprika is smoked: beside the meat itself these words count where they name meat.
_TREATED = re.compile(r"\bsalted\b|(?<!un)smoked|(?<!un)gesalzen|(?<!unge)r(?:ä|ae)ucher|luftgetrocknet|air-?dried", re.I)
_MEAT = re.compile(r"pork|\bpig|beef|veal|lamb|meat|bell(?:y|ies)|jowl|shoulder|trotter|tongue|\bloin|breast|fleisch|schwein|rind|kalb|bauch|nacken|keule|schulter|zunge|brust|rippe|haxe|rücken|fett|lard\b|tallow|back ?fat", re.I)
# A spice, a herb or a skin for them is none of them.
_FOR_CURED = re.compile(
    r"\w*(?:schinken|wurst|würst\w*|wiener|speck)-?(?:gewürz\w*|kraut|kräuter|darm|därme|hülle\w*)|wiener gewürz\w*|(?:sausage|ham|bacon|corned beef|salami|chorizo|pastrami)[ -](?:seasoning|spices?|rub|casings?|skins?)\b",
    re.I,
)
# A cut, or what is made of it. In German a raw ham is a cured one, so that "roh" excuses nothing.
_CURED_CUT = re.compile(r"bacon|\bhams?\b|gammon|lardon|speck|schinken", re.I)
_FRESH = re.compile(r"fresh|uncured|frisch|(?<![a-zäöüß])(?:grün|ungep(?:ö|oe)kelt)", re.I)
_RAW_FAT = re.compile(r"(?:rücken|ruecken|nacken|kern|schulter|backen)speck|speckschwarte", re.I)
# Bought salty: where the recipe does not state its salt, nobody counts it.
SALTY = re.compile(
    r"\b(?:soy|soya|fish|oyster|hoisin|teriyaki|worcester\w*|chill?i|barbecue|bbq|hot) sauces?\b|\bshoyu\b|\btamari\b|\bmiso\b|\bnam pla\b|\bponzu\b|\bketchup\b|\b(?:stock|bouillon|broth)\b|\bbrine\b|\bolives?\b(?! (?:oil|leaf|leaves))|\banchov|\bcapers?\b"
    r"|\bbottarga\b|\bcaviar\b|\b(?:parmesan|pecorino|feta|halloumi|roquefort|gorgonzola|stilton|cheddar|gruy[eè]re|emmental\w*|gouda|manchego|grana padano)\b|(?<!cream )(?<!cottage )\bcheese\b(?! ?cloth)|\bgherkins?\b|\bcornichons?\b|\bpickle[ds]?\b|\bsauerkraut\b|\bkimchi\b|\bharissa\b|\byeast extract\b|\bcurry paste\b"
    r"|(?<!dry )(?<!ground )\bmustard\b(?!,? (?:seeds?|powder|flour|oil|greens|dry|ground))|\bdijon\b|(?<!un)\bsalted\b|\bsun-?dried tomato|\bcrisps\b|\bpretzels?\b|\bsmoked salmon\b"
    r"|\b(?:soja|fisch|austern|würz|chili|grill)(?:so(?:ß|ss)en?|saucen?)\b|\bworcester|\w*brühe\b|\bbrühwürfel\b|\bsuppenwürze\b|\b(?:rinder|kalbs|geflügel|fleisch|gemüse)?fond\b|\w*(?:gurken|oliven|salz)lake\b|\boliven\b|\bsardellen?(?!\w*frei)|\banchovis\b|\bkapern\b|\bkaviar\b|\bräucherlachs\b"
    r"|\b(?!frisch|leber|fleisch|hütten)\w*käse\b(?! ?tuch)|\b(?:gewürz|essig|salz|senf)gurken?\b|\b\w*senf\b(?!-)|\b(?<!un)gesalzen|\bsalzzitronen?\b|\bhefeextrakt\b|\bcurrypaste\b|\b\w*brezeln?\b",
    re.I,
)
UNSALTED = re.compile(r"unsalted|no (?:added )?salt|without salt|salt[ -]free|ungesalzen|ohne salz|salzfrei|salzlos", re.I)
_BONE_IN = re.compile(
    r"\bbones?[ -]?in\b|\bwith (?:the |its |their )?bones?\b|\bon the bone\b|\bunboned\b|\bwhole (?:chicken|turkey|duck|goose|bird)s?\b"
    r"|\bmit (?:dem |den |seinem |ihrem )?knochen\b|\bam knochen\b|\b(?:unausgelöst|unentbeint)|\bnicht (?:ausgelöst|entbeint)|\bganze[mnrs]? (?:suppen)?(?:huhn|hähnchen|pute|ente|gans|hühner|puten|enten|gänse)\b",
    re.I,
)
# Cuts that are sold on their bone, where nothing says that it is out.
_ON_ITS_BONE = re.compile(
    r"\b(?:hock|shank|trotter|knuckle)s?\b|\b(?:spare|short|baby back|back) ?-?ribs?\b(?! (?:meat|finger))"
    r"|\b(?:schweins|kalbs|hinter|vorder)?(?:haxen?|haxn|hax|stelzen?|eisbeine?)\b|\bspitzbeine?\b|\b(?:schäl|leiter|kotelett)?ripp(?:en?|chen)\b",
    re.I,
)
_BONED = re.compile(r"\bboneless\b|\bboned\b|\bbone (?:out|removed)\b|\b(?:off|without) (?:the |its )?bone\b|\bohne (?:den )?knochen\b|\b(?:ausgelöst|entbeint|ausgebeint)|\bknochenlos", re.I)


def bone_in(name: str) -> bool:
    """Whether a name, as ``signs.spoken`` gives it, says or implies that there is a bone in it."""
    return bool(_BONE_IN.search(name) or (_ON_ITS_BONE.search(name) and not _BONED.search(name)))


_SALT = re.compile(r"\bsalt\b|(?<!hirschhorn)(?<!natrium)(?<!kalium)(?<!ge)salz(?:e[sn]?)?\b|\bsalzlake", re.I)
_ACCELERATOR = re.compile(r"umr(?:ö|oe)t|\br(?:ö|oe)temittel|cur(?:e|ing) accelerator", re.I)
_PHOSPHATE = re.compile(r"(?<!without )(?<!no )(?<!ohne )phosphat(?!e?[ -]?fre|frei)", re.I)
_BY_SPOON = re.compile(r"(?:[0-9¼½¾⅓⅔⅛] ?|\b)(?:tsp|tbsp|tea ?spoon|table ?spoon|cup|[te]l\b|tasse)|spoon|pinch|heap|löffel|prise|messerspitz|\bmsp\b", re.I)


@dataclass(frozen=True)
class Ingredient:
    """One line of a recipe besides the curing salt and the plain salt."""

    id: str
    name: str
    role: str
    share: Fraction  # of the meat block or of the whole mix, as ``per`` says
    per: str  # "meat" or "mix"
    food: str = ""  # name of its row of the food table
    salt: Fraction = Fraction(0)  # salt that it brings, as a share of itself
    row: foods.Food | None = None  # that row, or one drawn for the fat share that was stated
    substance: str = ""  # of an accelerator or a phosphate: which one, by the keys of additives
    p2o5: Fraction | None = None  # of a phosphate blend, a share of it
    pack_list: str = ""  # the list of ingredients on its pack
    declared: tuple[str, ...] = ()  # allergens that the recipe states
    by_spoon: str = ""  # as the recipe has it, where it was measured by the spoon
    form: str = ""  # how it lies in a spoon
    fat: Amount | None = None  # stated in place of a row, for the meat of ``animal``
    animal: str = ""
    salt_stated: bool = False  # whether the recipe says what salt it brings, be it none
    written: str = ""  # the name in the recipe's own file, where ``name`` is one of another language

    @property
    def known_as(self) -> str:
        """The name that what it is made of is looked up by."""
        return self.written or self.name


def read_ingredients(reader: Reader, data: dict, meat: Fraction | None, kinds: tuple[str, ...], size: str | None) -> tuple[Ingredient, ...]:
    """The ``[[ingredient]]`` tables of a recipe file.

    data: the file's table; meat: the published block [g], None where it could not be read; kinds: of the
    recipe; size: where its spoons were bought, one of SPOONS, or None where it does not say.
    Faults go to the reader.
    """
    tables = reader.take(data, (), "ingredient", list, "[[ingredient]]", [], required=True)
    if len(tables) > MOST_INGREDIENTS:
        reader.wrong(("ingredient",), len(tables), str(MOST_INGREDIENTS))
        return ()
    found: list[Ingredient] = []
    for index, table in enumerate(tables):
        path = ("ingredient", index)
        if isinstance(table, dict):
            found.append(_One(reader, table, path, meat, kinds, size).read())
        else:
            reader.wrong(path, table, "[[ingredient]]")
    _judge_together(reader, found)
    return tuple(found)


def _is_cured(name: str, role: str) -> bool:
    name = _FOR_CURED.sub(" ", name)
    cut = _CURED_CUT.search(_RAW_FAT.sub("", name))
    treated = _TREATED.search(name) and (role in BLOCK or _MEAT.search(name))
    return bool(_CURED_MEAT.search(name) or treated or cut and not _FRESH.search(name))


def judge_name(reader: Reader, where: tuple, name: str, role: str, salt_stated: bool) -> None:
    """A fault where a name is that of a cure, of meat that is cured already, or of salt that nobody counts."""
    said = spoken(name)
    if _CURES.search(said) or _CURE_PLANT.search(said) and _AS_CURE.search(said):
        reader.wrong(where, name, "[targets] nitrite", "recipe_cure_named")
    elif _is_cured(said, role):
        reader.wrong(where, name, say("expected.raw"), "recipe_already_cured")
    elif _SALT.search(said) and not salt_stated:
        reader.wrong(where, name, 'salt = "98 %"', "recipe_salt_named")


def role_meant(name: str, role: str) -> str:
    """The role that an additive must have by its name, "" where its own will do."""
    said = spoken(name)
    if role in ("phosphate", "leavening") and _ACCELERATOR.search(said):
        return "accelerator"
    meant = "accelerator" if additives.accelerator_named(said) or _ACCELERATOR.search(said) else "phosphate" if _PHOSPHATE.search(said) else ""
    return meant if role not in ("accelerator", "phosphate", "leavening") else ""


def _judge_together(reader: Reader, found: list[Ingredient]) -> None:
    seen: set[str] = set()
    for index, ingredient in enumerate(found):
        if ingredient.id in seen:
            reader.wrong(("ingredient", index, "name"), ingredient.id, "", "recipe_twice")
        seen.add(ingredient.id)
    block = [i.share for i in found if i.role in BLOCK]
    if not any(i.role == "meat" for i in found):
        reader.wrong(("ingredient",), "", 'role = "meat"', "recipe_no_meat")
    elif None not in block and abs(sum(block) - 1) > Fraction(1, 1000):
        reader.wrong(("ingredient",), f"{show(sum(block) * 100, 1)} %", "100 %", "recipe_meat_sum")
    if sum(i.share or 0 for i in found if i.per == "mix") >= Fraction(9, 10):
        reader.wrong(("ingredient",), "", say("expected.of_mix"))


class _One:
    """One table of the file, read key by key."""

    def __init__(self, reader: Reader, table: dict, path: tuple, meat: Fraction | None, kinds: tuple[str, ...], size: str | None):
        self.reader, self.table, self.path = reader, table, path
        self.meat, self.kinds, self.size = meat, kinds, size

    def _text(self, key: str) -> str:
        return tidy(self.reader.take(self.table, self.path, key, str, "text") or "")

    def read(self) -> Ingredient:
        reader, table, path = self.reader, self.table, self.path
        name = tidy(reader.take(table, path, "name", str, "text", required=True, most=MOST_NAME) or "")
        own_id = reader.take(table, path, "id", str, "pork-shoulder", re.sub("[^a-z0-9]+", "-", name.lower()).strip("-"))
        if not ID.fullmatch(own_id) or own_id in FIGURES:
            reader.wrong((*path, "id"), own_id, "pork-shoulder")
        role = reader.choice(table, path, "role", ROLES, required=True)
        judge_name(reader, (*path, "name"), name, role, "salt" in table)
        food, row, fat, animal = self._food(role)
        form = self._text("form")
        share, per, by_spoon = self._amount(name, role, food, form)
        if role in BLOCK and per == "mix":
            reader.wrong((*path, "per"), per, "meat")
        salt = reader.amount(table, path, "salt", "share", PERCENT, "1.5 %")
        reader.within((*path, "salt"), salt, 0, 1, "1.5 %")
        if salt is None and row is not None and row.role == "salt":
            reader.wrong((*path, "food"), row.name, 'salt = "98 %"', "recipe_salt_named")
        if role and not by_spoon:
            self._judge_role(name, role)
        substance, p2o5 = self._additive(name, role)
        pack_list = self._text("pack_list")
        if role == "leavening" and pack_list:
            self._checked("pack_list", pack_list, additives.read_leavening)
        declared = self._declared()
        reader.rest(table, path, KEYS)
        return Ingredient(
            own_id, name, role, share, per, food, salt.value if salt else Fraction(0), row, substance, p2o5, pack_list, declared, by_spoon, form, fat, animal, salt is not None,
        )

    def _checked(self, key: str, read: str, make, *arguments):
        """What a module of the batch makes of ``read``; its refusal is a fault of ``key``."""
        try:
            return make(read, *arguments)
        except Refused as error:
            self.reader.refuse((*self.path, key), read, error)
            return None

    def _judge_role(self, name: str, role: str) -> None:
        """A fault where an additive stands among the spices: no limit would be held against it."""
        if meant := role_meant(name, role):
            self.reader.wrong((*self.path, "role"), role, meant)

    def _food(self, role: str) -> tuple[str, foods.Food | None, Amount | None, str]:
        """(name of the row, the row, fat, animal): a row of the table, or one drawn for the fat share that is stated."""
        reader, table, path = self.reader, self.table, self.path
        none = "", None, None, ""
        fat = reader.amount(table, path, "fat", "share", ("%",), "18 %")
        animal = reader.choice(table, path, "animal", foods.KINDS)
        read = self._text("food")
        if fat is None:
            if animal is not None:
                reader.wrong((*path, "fat"), "", '"18 %"', "recipe_missing")
            row = self._checked("food", read, foods.find) if read else None
            return (row.name if row else ""), row, None, ""
        if role not in BLOCK:
            reader.wrong((*path, "fat"), fat.text, 'role = "meat"')
            return none
        if read:
            reader.wrong((*path, "food"), read, say("expected.food_or_fat"))
            return none
        only = self.kinds[0] if len(self.kinds) == 1 and self.kinds[0] in foods.KINDS else None
        if animal is None and only is None:
            reader.wrong((*path, "animal"), "", ", ".join(foods.KINDS), "recipe_missing")
            return none
        fitting = [known for known in foods.KINDS if _KIND_OF.get(known, known) in self.kinds]
        if animal is not None and fitting and animal not in fitting:
            # Times and temperatures go by the recipe's kinds.
            reader.wrong((*path, "animal"), animal, ", ".join(fitting))
        row = self._checked("fat", animal or only, foods.with_fat, float(fat.value * 100))
        return "", row, fat, animal or ""

    def _amount(self, name: str, role: str, food: str, form: str) -> tuple[Fraction | None, str | None, str]:
        """(share, what it is per, the spoons it was measured by); None is what could not be read, and no recipe comes of it."""
        reader, table, path, examples = self.reader, self.table, self.path, say("expected.amount")
        typed = reader.take(table, path, "amount", str, examples, required=True)
        per = reader.choice(table, path, "per", BASES)
        if typed is None:
            return None, per, ""
        try:
            if _BY_SPOON.search(normalize("NFC", typed)):
                return self._by_spoon(typed, name, role, food, form), "meat", tidy(typed)
            if any(letter in typed for letter in "%/"):
                if per is None:
                    reader.wrong((*path, "per"), "", ", ".join(BASES), "recipe_missing")
                return read_amount(typed, "share", PERCENT).value, per, ""
            # Grams belong to the published batch; they scale with its meat.
            return self._of_meat(read_amount(typed, "mass", MASS).value), "meat", ""
        except Misread:
            reader.wrong((*path, "amount"), typed, examples)
            return None, per, ""

    def _of_meat(self, grams: Fraction) -> Fraction | None:
        return grams / self.meat if self.meat else None

    def _by_spoon(self, typed: str, name: str, role: str, food: str, form: str) -> Fraction | None:
        """Spoons as a share of the published block: turned into grams once, and weighed from then on."""
        if spoons.weighed_only(name, role):
            self.reader.refuse((*self.path, "amount"), typed, spoons.SpoonRefused("spoon_weighed_only", read=name))
            return None
        amount = self._checked("amount", typed, spoons.read_spoons)
        size = self.size or (amount.size if amount else "")
        if not size:
            self.reader.wrong(("spoons",), "", ", ".join(SPOONS), "recipe_missing")
        if amount is None or not size:
            return None
        grams = self._checked("amount", food or name, lambda read: spoons.to_grams(amount, read, size=size, form=form))
        return self._of_meat(grams.nominal) if grams else None

    def _additive(self, name: str, role: str) -> tuple[str, Fraction | None]:
        """(which accelerator or phosphate, the P2O5 of a blend): without it no limit could be held against it."""
        reader, table, path = self.reader, self.table, self.path
        choices = {"accelerator": tuple(additives.ACCELERATORS), "phosphate": tuple(additives.PHOSPHATES)}.get(role)
        p2o5 = reader.amount(table, path, "p2o5", "share", ("%",), "57 %")
        if choices is None:
            for key, read in (("substance", table.pop("substance", None)), ("p2o5", p2o5.text if p2o5 else None)):
                if read is not None:
                    reader.wrong((*path, key), read, say("expected.additive"))
            return "", None
        substance = reader.choice(table, path, "substance", choices)
        if p2o5 is not None:
            if role == "phosphate" and substance is None and 0 < p2o5.value <= additives.RICHEST:
                return "", p2o5.value
            reader.wrong((*path, "p2o5"), p2o5.text, say("expected.blend"))
            return substance or "", None
        named = additives.accelerator_named(name) if role == "accelerator" else additives.phosphate_named(name)
        if substance is None and named is None:
            reader.wrong((*path, "substance"), "", ", ".join(choices), "recipe_missing")
        return substance or named or "", None

    def _declared(self) -> tuple[str, ...]:
        known = allergens.ids()
        given = self.reader.take(self.table, self.path, "allergens", list, '["milk"]', [])
        for read in given:
            if read not in known:
                self.reader.wrong((*self.path, "allergens"), read, ", ".join(known))
        return tuple(read for read in given if read in known)
