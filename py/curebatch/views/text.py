"""The card in plain text, for the terminal and for pasting."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from textwrap import wrap

from curebatch.bare_grams import WEIGHED
from curebatch.views.html import full, named_cure
from curebatch.words import say

WIDTH = 78
# A figure and its unit stay in one line: a break there is put off by a space that is none.
_GLUE = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(r"(?<=[0-9]) (?=[%°a-z])")


def plain(text: object) -> str:
    """``text`` without control and format characters: a recipe's name must not steer a
    terminal, nor turn its figures round."""
    text = str(text)
    if text.isprintable():  # which none of those is
        return " ".join(text.split())
    return " ".join(
        "".join(
            " " if char.isspace() else char
            for char in text
            if char.isspace() or unicodedata.category(char) not in ("Cc", "Cf", "Cs", "Co")
        ).split()
    )


def _paragraph(text: str, first: str = "  ", rest: str | None = None) -> list[str]:
    text = plain(text)
    if "%" in text and WEIGHED.search(text):
        # Grams of curing salt and their percentage must not part at a line's end.
        return [first + text]
    lines = wrap(
        _BEFORE_UNIT.sub(_GLUE, text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=first if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_GLUE, " ") for line in lines]


def _columns(rows: Iterable[tuple[str, ...]], right: tuple[int, ...]) -> list[str]:
    """Rows set in columns; those numbered in ``right`` to the right. Never broken: the
    figures of a row belong in one line with its name."""
    cells = list(rows)
    widths = [max(len(cell) for cell in column) for column in zip(*cells, strict=True)]
    return [
        "  ".join(
            cell.rjust(width) if number in right else cell.ljust(width)
            for number, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in cells
    ]


def _on_decimal(figures: list[str]) -> list[str]:
    """Figures padded in front so that their decimal signs stand in one column."""
    cut: list[tuple[str, str, str]] = []
    for figure in map(plain, figures):
        number, _, unit = figure.partition(" ")
        at = next((i for i, char in enumerate(number) if char in ".,"), len(number))
        cut.append((number[:at], number[at:], unit))
    before = max(len(whole) for whole, _, _ in cut)
    return [f"{whole.rjust(before)}{rest} {unit}".rstrip() for whole, rest, unit in cut]


def _indented(lines: list[str]) -> list[str]:
    return ["  " + line for line in lines]


def _pairs(rows: Iterable[Mapping]) -> list[str]:
    lines: list[str] = []
    for row in rows:
        lines += _paragraph(f"{row['label']}: {row['text']}", "  ", "      ")
    return lines


def _forecast(piece: Mapping) -> list[str]:
    """When one piece will be done and cold, as lines."""
    lines = _paragraph(f"{piece['piece']}. {piece['aim_text']}. {piece['hold_text']}".strip())
    fitted, cooling = piece["corrected"] or {}, piece["cooling"] or {}
    told = [piece["none_text"], piece["minutes_text"], (piece["setting"] or {}).get("text"), fitted.get("text"), fitted.get("word_text"), *fitted.get("notes", ())]
    told += [cooling.get("none_text"), *(way["text"] for way in cooling.get("options", ()))]
    return [*lines, *(line for text in told if text for line in _paragraph(text, "  ", "      "))]


def _made_of(card: Mapping) -> list[str]:
    """Allergens, additives and composition."""
    lines: list[str] = []
    if card["allergens"]:
        lines += ["", say("view.allergens"), *_pairs(card["allergens"]["rows"]), *_paragraph(card["allergens"]["note"])]
    if card["additives"]:
        lines += ["", say("view.additives")]
        for row in card["additives"]:
            word = say("view.within" if row["within"] else "view.over")
            lines += _paragraph(f"{word}: {row['text']}.", "  ", "      ")
            lines += _paragraph(f"{say('view.source', source=row['source'])} · {row['sure_text']}", "      ")
    if card["shopping"]:
        lines += ["", say("view.shopping")]
        for row in card["shopping"]["rows"]:
            lines += _paragraph(f"{row['text']} {row['cost_text']}".strip(), "  ", "      ")
        for text in card["shopping"]["sums"]:
            lines += _paragraph(text)
    made = card["composition"]
    if not made:
        return lines
    lines += ["", say("view.composition_table")]
    if made["rows"]:
        shown = [("raw", "view.composition_raw"), ("cooked", "view.composition_cooked"), ("portion", "view.composition_portion")]
        shown = [(key, id) for key, id in shown if any(row.get(key) for row in made["rows"])]
        head = ("", *(say(id) for _, id in shown))
        table = [tuple(plain(row[key]) for key in ("label", *(key for key, _ in shown))) for row in made["rows"]]
        lines += _indented(_columns([head, *table], tuple(range(1, len(head)))))
        lines += _paragraph(f"{made['portion_text']} {made['yield_text']}".strip()) if made["portion_text"] or made["yield_text"] else []
        lines += _pairs(made["ratios"])
        for key in ("label_eu", "label_us"):
            if made[key]:
                lines += ["  " + say(f"view.{key}"), *_paragraph("; ".join(f"{row['label']} {row['text']}" for row in made[key]), "    ")]
    for note in made["notes"]:
        lines += _paragraph(note)
    return lines


def _heat(lines: list[str], part: Mapping, severities: tuple[str, ...]) -> None:
    """Rows, ways to cool and messages of one of the three temperatures; what is grave stands above already."""
    if part.get("text"):
        lines += _paragraph(part["text"])
    for row in part.get("rows") or ():
        lines += _paragraph(f"{row['label']}: {row['text']}" if row["label"] else row["text"], "  ", "      ")
    for way in part.get("followed") or ():
        lines += _paragraph(f"{way['state_text']}: {way['text']}", "  ", "      ")
        for window in way["windows"]:
            lines += _paragraph(f"{window['label']}: {window['text']}", "      ")
    for option in part.get("options") or ():
        why = f": {option['why_text']}" if option["why_text"] else ""
        lines += _paragraph(f"{option['state_text']}: {option['text']}{why}.", "  ", "      ")
    for message in part.get("messages") or ():
        if message["severity"] in severities:
            lines += _paragraph(f"{say('view.' + message['severity']).upper()}: {message['text']}", "  ", "      ")
            lines += _paragraph(say("view.source", source=message["source"]), "      ")
    if part.get("advice"):
        lines += _paragraph(say("cooling.view.advice") + ":")
        for line in part["advice"]:
            lines += _paragraph(line, "  - ", "    ")


def card_text(card: Mapping) -> str:
    """The card as plain text.

    card: as in the contract. Returns text that ends with a line break; no line gives
    grams of curing salt without the percentage they belong to.
    """
    card = full(card)
    cure = card["cure"] or {}
    lines: list[str] = []

    def heading(id: str) -> None:
        lines.extend(["", say(id)])

    def messages() -> None:
        if card["messages"]:
            heading("view.messages")
        for message in card["messages"]:
            word = say("view." + message["severity"]).upper()
            lines.extend(_paragraph(f"{word}: {message['text']}", "  ", "      "))
            if message.get("source"):
                lines.extend(_paragraph(say("view.source", source=message["source"]), "      "))

    if card["title"]:
        title = plain(card["title"])
        lines += [title, "=" * min(len(title), WIDTH)]
    lines += _paragraph(
        f"{say('view.' + card['verdict']).upper()}. {card['verdict_text']}", "", "  "
    )
    if card["verdict"] == "stop":
        lines += _paragraph(say("text.help"), "  ")
    if card["not_judged_text"]:
        lines += _paragraph(card["not_judged_text"], "  ")
    if card["verdict"] == "stop":
        messages()  # why, before anything to weigh
    if card["faults"]:
        heading("view.faults")
        for fault in card["faults"]:
            name = fault.get("label") or fault.get("field", "")
            read = fault.get("read") or ""
            # Most faults quote what was read in their own sentence.
            read = f" ({say('view.fault_read', read=read)})" if read not in fault["text"] else ""
            lines += _paragraph(f"{name}: {fault['text']}{read}", "  ", "      ")
    if card["confirm"]:
        heading("view.confirm_title")
        lines += _paragraph(card["confirm"]["text"])

    if card["convert"]:
        convert = card["convert"]
        heading("view.convert")
        lines += _pairs(convert.get("rows") or [])
        if convert.get("sentence"):
            lines += _paragraph(convert["sentence"])
        written = convert.get("as_written")
        if written:
            heading("view.as_written")
            lines += _paragraph(written["text"] if isinstance(written, Mapping) else written)

    if card["amounts"]:
        dosed = card["verdict"] in ("ok", "caution")
        heading("view.amounts" if dosed else "view.amounts_without")
        if not dosed:
            lines += _paragraph(say("view.amounts_without_why"))
        rows = card["amounts"]
        figures = [row["weigh"]["text"] for row in rows]
        names = [named_cure(row["name"], row["role"], cure) for row in rows]
        shares = [
            (row.get("percent_of_meat_text") or "", row.get("percent_of_mix_text") or "")
            for row in rows
        ]
        if card["mix_text"]:
            figures.append(card["mix_text"])
            names.append(" ".join(part for part in (say("view.mix"), card["mix_note"]) if part))
            shares.append(("", ""))
        table = _columns(
            [
                (figure, plain(name), *map(plain, share))
                for figure, name, share in zip(_on_decimal(figures), names, shares, strict=True)
            ],
            right=(2, 3),
        )
        for number, line in enumerate(table):
            lines.append(("  [ ] " if number < len(rows) else "      ") + line)
        for name, row in zip(names, rows, strict=False):
            for key in ("by_spoon", "note"):
                if row.get(key):
                    lines += _paragraph(f"{name}: {row[key]}", "      ")

    if cure.get("rows"):
        heading("view.dose")
        head = ("", say("view.low"), say("view.nominal"), say("view.high"))
        table = [
            (f"{row['label']} {row['per_text']}", row["low"], row["nominal"], row["high"])
            for row in cure["rows"]
        ]
        lines += _indented(_columns([head, *(tuple(map(plain, row)) for row in table)], (1, 2, 3)))
    if cure.get("limits"):
        heading("view.limits")
        for limit in cure["limits"]:
            word = say("view.within" if limit["within"] else "view.over")
            if not limit["applies"]:
                word += f" ({say('view.not_applied').lower()})"
            lines += _paragraph(
                f"{word}: {limit['text']}. "
                + say("text.limit_line", value=limit["value_text"], high=limit["high_text"]),
                "  ",
                "      ",
            )
            sure = f" · {limit['sure_text']}" if limit.get("sure_text") else ""
            lines += _paragraph(say("view.source", source=limit["source_text"]) + sure, "      ")

    if card["verdict"] != "stop":
        messages()

    mixing = card["mixing"] or {}
    if mixing.get("text") or mixing.get("rows") or mixing.get("messages"):
        heading("view.mixing" if mixing["applies"] else "view.mixing_none")
        _heat(lines, mixing, ("stop", "caution", "incomplete", "note"))
    for part in ("cooking", "cooling"):
        for piece in card[part]:
            heading(f"view.{part}")
            word = say(f"view.{piece['verdict']}")
            measured = "" if piece["measured"] else f" ({say('view.heat_not_measured')})"
            lines += _paragraph(f"{word}{measured}. {piece['note_text']}".strip())
            _heat(lines, piece, ("incomplete", "note"))

    if card["forecast"]:
        heading("view.forecast")
        lines += _paragraph(card["about_forecast"]["lead_text"])
        for piece in card["forecast"]:
            lines += _forecast(piece)

    if card["together"]:
        both = card["together"]
        lines += ["", plain(say("view.together", title=both["title"]))]
        names = [named_cure(row["name"], row["role"], cure) for row in both["amounts"]]
        lines += ["  [ ] " + line for line in _columns(list(zip(_on_decimal([row["weigh"]["text"] for row in both["amounts"]]), map(plain, names), strict=True)), ())]
        lines += ["  " + say("view.together_mixed"), *_pairs(both["rows"])]
    if card["about_tins"]:
        heading("view.tins")
        for row in card["tins"]:
            lines += _paragraph(row["text"], "  ", "      ")
        for key in ("left_text", "rises_text", "density_text", "whose_text"):
            if card["about_tins"].get(key):
                lines += _paragraph(card["about_tins"][key])
    lines += _made_of(card)

    if card["targets"]:
        heading("view.targets")
        lines += _pairs(card["targets"])
    if card["strengths"]:
        heading("view.strengths")
        head = (say("view.strength"), say("view.strength_cure"), say("view.strength_salt"))
        table = [
            (row["percent"], row["cure_text"], row["salt_text"])
            for row in card["strengths"]
            if not row.get("why")
        ]
        lines += _indented(_columns([head, *(tuple(map(plain, row)) for row in table)], (0, 1, 2)))
        for row in card["strengths"]:
            if row.get("why"):
                lines += _paragraph(f"{row['percent']}: {row['why']}", "  ", "      ")
        if card["strengths_scale_text"]:
            lines += _paragraph(card["strengths_scale_text"])
        lines += _paragraph(say("view.strengths_none"))

    if card["steps"]:
        heading("view.steps")
        for number, step in enumerate(card["steps"], 1):
            lines += _paragraph(f"{number}. {step['text']}", "  ", "     ")
    if card["handling"]:
        heading("view.handling")
        for item in card["handling"]:
            lines += _paragraph(f"{item['title']}: {item['text']}", "  ", "      ")
            if item.get("source"):
                lines += _paragraph(say("view.source", source=item["source"]), "      ")
    if card["understood"]:
        heading("view.understood")
        lines += _pairs(card["understood"])

    lines.append("")
    if card["rules_edition"]:
        lines += _paragraph(say("view.edition", edition=card["rules_edition"]), "")
    lines += _paragraph(say("page.footer_law"), "")
    lines += _paragraph(say("page.footer_heat"), "")
    return "\n".join(lines) + "\n"
