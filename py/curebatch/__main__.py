"""The terminal: ``python -m curebatch card | convert | check | correct | starter``."""

from __future__ import annotations

import argparse
import json
import sys
from importlib import resources
from pathlib import Path

from . import entry, shelf
from .batch.refusal import Refused
from .fields import BY_KEY, SPOONS
from .handed import address_of
from .intake.entries import refused
from .intake.faults import Fault, from_misread
from .intake.numbers import Misread
from .intake.recipe import Recipe, read_recipe
from .intake.retold import retold
from .measures import in_units
from .stages import by_spoon
from .views.notice import KINDS, BareGrams, Correction, notice
from .views.text import card_text
from .words import LANGUAGES, say, speaking, spoken

EXIT = {"ok": 0, "caution": 0, "stop": 3, "incomplete": 4}
NOT_UNDERSTOOD = 2
# Beside the package in a checkout; elsewhere --recipes names the folder.
_RECIPES = Path(__file__).resolve().parents[2] / "site" / "recipes"


def _language() -> argparse.ArgumentParser:
    """Read before all else: what the rest says of itself is in that language."""
    parser = argparse.ArgumentParser(add_help=False, allow_abbrev=False)
    parser.add_argument("--language", choices=LANGUAGES, default=LANGUAGES[0], help=say("terminal.language"))
    return parser


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="curebatch", description=say("terminal.job"), parents=[_language()])
    commands = parser.add_subparsers(dest="command", required=True)
    card = commands.add_parser("card", help=say("terminal.card"))
    card.add_argument("source", metavar="RECIPE_FILE_OR_LINK_OR_NAME")
    convert = commands.add_parser("convert", help=say("terminal.convert"))
    convert.add_argument("source", metavar="LINK", nargs="?")
    convert.add_argument("--spoons", metavar="AMOUNT", help=say("terminal.spoons"))
    convert.add_argument("--food", default="", help=say("terminal.food"))
    convert.add_argument("--size", choices=SPOONS, default=SPOONS[0], help=say("terminal.size"))
    convert.add_argument("--form", default="", help=say("terminal.form"))
    for command in (card, convert):
        command.add_argument("--set", action="append", default=[], metavar="key=value", help=say("terminal.set", keys=", ".join(BY_KEY)))
        shape = command.add_mutually_exclusive_group()
        shape.add_argument("--json", action="store_true", help=say("terminal.json"))
        shape.add_argument("--text", action="store_true", help=say("terminal.text"))
        command.add_argument("--recipes", type=Path, default=_RECIPES, help=say("terminal.recipes"))
    check = commands.add_parser("check", help=say("terminal.check"))
    check.add_argument("file", type=Path)
    correct = commands.add_parser("correct", help=say("terminal.correct"))
    correct.add_argument("ref", metavar="ID.REVISION")
    correct.add_argument("--reason", required=True, metavar="TEXT", help=say("terminal.reason"))
    correct.add_argument("--kind", required=True, choices=KINDS, help=say("terminal.kind"))
    correct.add_argument("--link", default="", metavar="URL", help=say("terminal.link"))
    correct.add_argument("--recipes", type=Path, default=_RECIPES, help=say("terminal.recipes"))
    commands.add_parser("starter", help=say("terminal.starter"))
    return parser


def _retold(path: Path) -> str | None:
    """What the recipe file at ``path`` says in the language in force; None where there is no such file."""
    try:
        return (path.parent / spoken() / path.name).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def _read(path: Path, text: str) -> tuple[Recipe | None, list[Fault]]:
    """A recipe file, its texts in the language in force where there are such."""
    recipe, faults = read_recipe(text, path.name)
    told = _retold(path) if recipe is not None and recipe.language != spoken() else None
    return (recipe, faults) if told is None else retold(recipe, told, f"{spoken()}/{path.name}", spoken())


def _fill_shelf(folder: Path) -> None:
    texts, other = {}, {}
    for path in sorted(folder.glob("*.toml")) if folder.is_dir() else ():
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            continue  # named when it is asked for; it must not take the others away
        recipe, _ = read_recipe(text, path.name)
        if recipe:
            texts[recipe.ref] = text
            if (told := _retold(path)) is not None:
                other[recipe.ref] = told
    shelf.put(texts, texts={spoken(): other})


def _complain(lines: list[str]) -> int:
    for line in lines:
        print(line, file=sys.stderr)
    return NOT_UNDERSTOOD


def _check(path: Path) -> int:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        return _complain([say("terminal.no_file", file=str(path), error=str(error))])
    pattern = path.parent.parent / path.name
    if path.parent.name in LANGUAGES and pattern.is_file():
        recipe, faults = read_recipe(pattern.read_text(encoding="utf-8"), pattern.name)
        if recipe is not None:
            recipe, faults = retold(recipe, text, path.name, path.parent.name)
    else:
        recipe, faults = read_recipe(text, path.name)
    if faults:
        return _complain([wrong.text for wrong in faults])
    print(say("terminal.check_ok", ref=recipe.ref, title=recipe.title))
    return 0


def _spoons(options: argparse.Namespace) -> int:
    try:
        print(by_spoon.convert(options.spoons, options.food, options.size, options.form))
    except Misread as error:
        return _complain([from_misread("spoons", options.spoons, error, "2 tsp").text])
    except Refused as error:
        return _complain([refused("spoons", options.spoons, error).text])
    return 0


def _unused(options: argparse.Namespace) -> list[str]:
    """What was given to ``convert`` and would be passed over: nothing is, without a word."""
    if options.spoons is None:
        given = (("--food", options.food), ("--form", options.form), ("--size", "" if options.size == SPOONS[0] else options.size))
        return [say("terminal.spoons_missing", read=name) for name, text in given if text] + (
            [say("terminal.convert_link", read=options.source)] if options.source and "found_cure=" not in options.source else []
        )
    given = (options.source, *(f"--set {pair}" for pair in options.set), "--json" if options.json else "")
    return [say("terminal.spoons_alone", read=text) for text in given if text]


def _correct(options: argparse.Namespace) -> int:
    """The texts to paste where a wrong recipe was shown, and the line that withdraws it."""
    _fill_shelf(options.recipes)
    recipe, faults = shelf.get(options.ref)
    if recipe is None:
        return _complain([wrong.text for wrong in faults])
    link = options.link
    if link and not address_of(link):
        return _complain([say("terminal.link_whole", read=link)])
    later = shelf.later(recipe)
    wrong = Correction(recipe.ref, recipe.title, options.reason, options.kind, recipe.day, str(later[-1].revision) if later else "", link)
    try:
        made = notice(wrong)
    except BareGrams as error:
        return _complain([say("hand.bare_grams", read=error.read)])
    except ValueError:
        return _complain([say("terminal.no_reason")])
    for name in ("caption", "description", "pinned"):
        print(f"{say(f'terminal.notice_{name}')}\n\n{getattr(made, name).strip()}\n")
    print(f"{say('terminal.notice_withdraw')}\n\n{json.dumps({recipe.ref: options.reason}, ensure_ascii=False)[1:-1]}")
    return 0


def main(arguments: list[str] | None = None) -> int:
    """Run one command. Returns the exit code: 0 card made, 2 not understood, 3 stop, 4 incomplete."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A terminal without these signs gets a spelled-out stand-in, never a broken card.
            stream.reconfigure(errors="backslashreplace")
    options, rest = _language().parse_known_args(arguments)
    with speaking(options.language):
        return _run(_parser().parse_args(rest))


def _run(options: argparse.Namespace) -> int:
    if options.command == "check":
        return _check(options.file)
    if options.command == "correct":
        return _correct(options)
    if options.command == "starter":
        print((resources.files(__package__) / "data" / "starter.toml").read_text(encoding="utf-8"), end="")
        return 0
    if options.command == "convert" and (unused := _unused(options)):
        return _complain(unused)
    if options.command == "convert" and options.spoons is not None:
        return _spoons(options)
    fields: dict[str, str] = {}
    for pair in options.set:
        key, equals, text = pair.partition("=")
        if not equals:
            return _complain([say("terminal.set_pair", read=pair)])
        if key in fields and fields[key] != text:
            return _complain([say("terminal.set_twice", key=key)])
        if key == "recipe":
            return _complain([say("terminal.set_recipe", read=text)])
        fields[key] = text
    _fill_shelf(options.recipes)
    source = options.source or ""
    page = "found" if options.command == "convert" else "recipe"
    given: dict = {"page": page, "fields": fields}
    recipe = None
    if source.endswith(".toml"):
        try:
            text = Path(source).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            return _complain([say("terminal.no_file", file=source, error=str(error))])
        recipe, faults = _read(Path(source), text)
        if faults:
            return _complain([wrong.text for wrong in faults])
    elif "=" in source:
        given["link"] = source
        if "found_cure=" in source:
            given["page"] = page = "found"
    elif source:
        given["recipe"] = source
    with in_units(entry.units_of(given)):
        return _show(entry.read(given, recipe), page, options.json)


def _show(reading: entry.Reading, page: str, as_json: bool) -> int:
    card = entry.card_of(reading, page, foretold=True)
    if reading.faults:
        if as_json:
            print(json.dumps(card, ensure_ascii=False, indent=2))
        return _complain([f"{wrong['label']} ({wrong['field']}): {wrong['text']}" for wrong in card["faults"]])
    print(json.dumps(card, ensure_ascii=False, indent=2) if as_json else card_text(card))
    return EXIT[card["verdict"]]


if __name__ == "__main__":
    raise SystemExit(main())
