"""Links: a card's inputs as readable pairs, in a fixed order (the table's, then the ingredients' by their ids), with a check at the end.

``v=1&recipe=pistachio-pork-loaf.1&meat=2.4kg&...&check=k3fq``. The check covers
every pair before it, so that a link cut anywhere, or altered, is found out.
A recipe of the cook's own is on no shelf: its link carries its file, as ``own``, behind the version.
"""

from __future__ import annotations

import hashlib
import re
from urllib.parse import quote, unquote_to_bytes

from ..fields import field_of, in_order
from .faults import Fault, fault
from .recipe import MOST_TEXT

VERSION = "1"
READ = ("0", VERSION)  # the links of the time before the names were settled mean the same
LONGEST = 8000  # characters, without the file of a recipe
OWN = "own"
_LONGEST_OWN = 12 * MOST_TEXT  # four bytes a sign, three characters a byte
# Added by platforms to addresses that pass through them. Everything else that
# is not ours means that a newer version made the link.
_TRACKERS = re.compile(r"utm_[a-z_]{1,20}|fbclid|gclid|msclkid|mc_[ce]id|igshid|si")
_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz0"  # 32 signs, none easily taken for another but 0
_SAFE = "/:.,-~"


def check_of(pairs: list[tuple[str, str]]) -> str:
    """Four characters over all pairs: 20 bits of their SHA-256."""
    text = "&".join(f"{key}={value}" for key, value in pairs)
    number = int.from_bytes(hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()[:3], "big") >> 4
    return "".join(_LETTERS[number >> shift & 31] for shift in (15, 10, 5, 0))


def encode(entries: dict[str, str], *, kitchen: bool) -> str:
    """The link for ``entries``, without the sign ``#`` in front.

    entries: {key: text as typed or written}; empty ones are left out;
    kitchen: whether the pack, the scale and the rest of the kitchen go along
    (the card link), or stay at home (the recipe link). ``own``: the text of a recipe file.
    Returns the fragment. A confirmation of a pack never travels.
    """
    pairs = [("v", VERSION)]
    if entries.get(OWN):
        pairs.append((OWN, entries[OWN]))
    for field in in_order(entries):
        text = entries[field.key]
        if text and field.key != "pack_check" and (kitchen or field.shared):
            pairs.append((field.key, re.sub(r"(?<=[0-9]) (?=[A-Za-z%°])", "", text)))
    pairs.append(("check", check_of(pairs)))
    return "&".join(f"{key}={quote(value, safe=_SAFE).replace('%20', '+')}" for key, value in pairs)


def _unquote(text: str) -> str:
    return unquote_to_bytes(text.replace("+", " ")).decode("utf-8", "strict")


def _too_long(link: str) -> bool:
    if len(link) <= LONGEST:
        return False
    file = max((len(part) for part in re.split("[&#?]", link) if part.startswith(f"{OWN}=")), default=0)
    return file > _LONGEST_OWN or len(link) - file > LONGEST


def decode(link: str) -> tuple[dict[str, str], list[Fault]]:
    """Read a link's pairs.

    link: fragment, query or whole address.
    Returns ({key: text}, []) or ({}, faults). Never a default in place of what
    was meant: with any fault nothing of the link is used.
    """
    if _too_long(link):
        return {}, [fault("link", link, "link_too_long")]
    raw = link.strip()
    if "#" in raw and "=" in raw.split("#", 1)[1]:
        address, fragment = raw.split("#", 1)
        query = address.split("?", 1)[1] if "?" in address else ""
        raw = f"{query}&{fragment}" if query else fragment
    elif "?" in raw:
        raw = raw.split("?", 1)[1].split("#")[0]
    pairs: list[tuple[str, str]] = []
    faults: list[Fault] = []
    for part in raw.lstrip("#?").split("&"):
        if not part:
            continue
        key, equals, value = part.partition("=")
        try:
            key, value = _unquote(key), _unquote(value)
        except UnicodeError:
            faults.append(fault("link", part, "link_damaged"))
            continue
        if _TRACKERS.fullmatch(key):
            continue
        if not equals:
            # What is left of a pair whose end was cut off.
            return {}, [fault("link", link, "link_cut")]
        earlier = dict(pairs).get(key)
        if earlier is not None:
            if earlier != value:
                faults.append(fault(key if field_of(key) else "link", value, "link_twice", key=key, first=earlier))
            continue
        pairs.append((key, value))
    if faults:
        return {}, faults
    if not pairs:
        return {}, []
    given = dict(pairs)
    if given.get("v") is None:
        return {}, [fault("link", link, "link_cut")]
    if given["v"] not in READ:
        return {}, [fault("link", given["v"], "link_version")]
    # A confirmation never travels: a pack is confirmed in the kitchen it stands in.
    unknown = [key for key in given if (field_of(key) is None or key == "pack_check") and key not in ("v", "check", OWN)]
    body = [pair for pair in pairs if pair[0] != "check"]
    if given.get("check") != check_of(body):
        return {}, [fault("link", link, "link_cut")]
    if pairs[-1][0] != "check" or pairs[0][0] != "v":
        return {}, [fault("link", link, "link_damaged")]
    if unknown:
        # The check agrees, so nobody's finger slipped: a newer version wrote it.
        return {}, [fault("link", key, "link_newer", key=key) for key in unknown]
    return {key: value for key, value in given.items() if field_of(key) or key == OWN}, []
