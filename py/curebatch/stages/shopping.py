"""What must be bought for all loads of the batch, and what it costs where prices are given."""

from __future__ import annotations

from fractions import Fraction

from ..batch.refusal import Refused
from ..batch.share_out import Item, Need, Price, Shopping, shopping
from ..fields import PRICE
from ..figures import on_scale
from ..intake.document import Document
from ..intake.entries import Cost, Count
from ..intake.numbers import show
from ..intake.units import factor
from ..messages import Messages
from ..words import say, shown

SALTS = ("salt", "curing_salt")


def check(document: Document, messages: Messages) -> None:
    """Prices that cannot stand together are said, and then nothing is added up."""
    currencies = sorted({cost.value.currency for key, cost in document.values.items() if isinstance(cost, Cost)})
    if len(currencies) > 1:
        messages.add("price_currencies", "note", text=say("batch.refused.price_two_currencies", read=", ".join(currencies)))


def list_up(document: Document, amounts: list[dict], loads: int) -> dict | None:
    """The list and its cost.

    amounts: the rows of the card, as they are weighed for one load. Returns texts and plain
    numbers; None where nothing is to be bought.
    """
    needs = [Need(row["name"], row["role"], _grams(row) * loads) for row in amounts]
    prices = _prices(document, amounts)
    portions = portions_of(document, loads)
    try:
        found = shopping(needs, prices, portions=portions)
    except Refused:  # two currencies: the list stands, without its sums
        found = shopping(needs)
    if not found.items:
        return None
    return {"rows": [_row(item, prices, found.currency, document) for item in found.items], "sums": _sums(found, portions), "currency": found.currency, **_numbers(found)}


def portions_of(document: Document, loads: int = 1) -> int | None:
    """How many portions the whole batch gives, by what was asked for or by the recipe; None where neither says."""
    asked, recipe = document.values.get("portions"), document.recipe
    if isinstance(asked, Count):
        return asked.value
    return max(1, round(recipe.portions * document.meat * loads / recipe.meat)) if recipe.portions else None


def _grams(row: dict) -> Fraction:
    return Fraction(row["weigh"]["value"]) * factor(row["weigh"]["unit"])


def _prices(document: Document, amounts: list[dict]) -> dict[str, Price]:
    names = {row["id"]: row["name"] for row in amounts}
    found = {}
    for key, cost in document.values.items():
        name = names.get(key.removeprefix(PRICE)) if key.startswith(PRICE) else None
        if name is not None and isinstance(cost, Cost):
            found[name] = cost.value
    return found


def _money(amount: Fraction) -> str:
    return shown(show(amount, 2))


def _row(item: Item, prices: dict[str, Price], currency: str, document: Document) -> dict:
    scale = document.scales.pick(item.grams)
    text = say("batch.shopping.buy", grams=on_scale(scale, item.grams), name=item.name)
    if item.packs is not None:
        pack = on_scale(document.scales.pick(prices[item.name].grams), prices[item.name].grams)
        text = say("batch.shopping.buy_packs", grams=on_scale(scale, item.grams), name=item.name, packs=str(item.packs), pack=pack)
    return {"name": item.name, "role": item.role, "text": text, "cost_text": _cost(item.used, item.spent, currency)}


def _cost(used: Fraction | None, spent: Fraction | None, currency: str) -> str:
    if used is None:
        return ""
    if used == spent:
        return f"{_money(used)} {currency}"
    return say("batch.shopping.cost", used=_money(used), spent=_money(spent), currency=currency)


def _sums(found: Shopping, portions: int | None) -> list[str]:
    if found.used is None:
        return []
    texts = [say("batch.shopping.sum", cost=_cost(found.used, found.spent, found.currency))]
    if portions:
        each = _money(found.per_portion)
        names = ", ".join(found.unpriced)
        texts.append(say("batch.shopping.at_least", amount=each, currency=found.currency, names=names) if names else say("batch.shopping.per_portion", amount=each, currency=found.currency))
    return texts


def _numbers(found: Shopping) -> dict:
    def plain(value: Fraction | None) -> float | None:
        return None if value is None else round(float(value), 4)

    return {"used": plain(found.used), "spent": plain(found.spent), "per_portion": plain(found.per_portion)}
