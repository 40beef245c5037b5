"""What is drawn for paper and for other sites' pages: the sheet, the fridge label, the embedded page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from markupsafe import Markup

from curebatch.fields import BY_KEY
from curebatch.views import embed, qr
from curebatch.views.html import full, template
from curebatch.views.label import label
from curebatch.views.lines import answers, handed, is_dosed, lines_of, targets
from curebatch.words import say


def heat_of(card: Mapping) -> list[str]:
    """Temperatures and times, one line each: what the middle must reach, and what the thermometer must show for it."""
    lines = []
    for piece in full(card)["cooking"]:
        named = f"{piece['piece']}: " if len(card["cooking"]) > 1 else ""
        lines += [named + handed(say("hand.pair", label=row["label"], text=row["text"])) for row in piece["rows"] if row["label"]]
        lines += [handed(piece["pink_text"])] if piece is card["cooking"][-1] else []
    return lines


def cooling_of(card: Mapping) -> list[str]:
    """Every way down that is open, one line each; what hangs on readings is said by the page alone."""
    lines = []
    for piece in full(card)["cooling"]:
        named = f"{piece['piece']}: " if len(card["cooling"]) > 1 else ""
        lines += [named + handed(option["text"]) for option in piece["options"] if option["state"] == "open"]
    return lines


def sheet(card: Mapping, *, link: str = "", without_code: str = "", date: str = "", heat: Sequence[str] = (), cooling: Sequence[str] = ()) -> str:
    """The sheet for the kitchen, as the inner HTML of its place on the page.

    card: as in the contract; link: the recipe link with the page's whole address, "" leaves
    the code out; without_code: what then stands in its place; date: ready text of the day, "" for a blank; heat, cooling: ready lines.
    Raises qr.LinkTooLong where the link fits no code: print without it then, and say so.
    """
    shown = full(card)
    return template("sheet.html").render(
        card=shown, lines=lines_of(card), dosed=is_dosed(card), targets=targets(card),
        answers=answers(card),
        heat=heat, cooling=cooling, date=date, without_code=without_code,
        qr=Markup(qr.svg(link, say("hand.qr_title"))) if link else "",
    ).strip()  # fmt: skip


def label_html(card: Mapping, *, made: str = "", use_by: str = "", raw: bool | None = None) -> str:
    """The fridge label as HTML, "" where there is none; arguments as for ``label.label``."""
    return template("label.html").render(label=label(card, made=made, use_by=use_by, raw=raw)).strip()


def embed_page(card: Mapping, *, page_url: str, root: str, assets: Mapping[str, str], build: str, language: str = "en") -> str:
    """The whole page for a frame.

    card: without a pack; page_url: the recipe's own page, relative or whole; root: the way to
    the site's root; assets: {embed, and frame where there is a script}; build: its name.
    """
    return template("embed.html").render(
        card=full(card), answers=embed.answers(card), batch=embed.batch_of(card), targets=targets(card),
        page_url=page_url, root=root, assets=assets, build=build, language=language,
        asked=[BY_KEY[key] for key in embed.ASKED], sections=embed.SECTIONS, script_words={name: say(f"script.{name}") for name in embed.SCRIPT_WORDS},
    )  # fmt: skip
