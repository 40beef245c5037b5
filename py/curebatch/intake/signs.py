"""Signs that nobody sees and that change what is read: they do not enter with a recipe's words.

One that turns the direction of writing shows "5.4 g" as "4.5 g" to whoever reads the line; one
inside a word hides that the word is salt. What writes in other scripts need (U+200C to U+200F) stays.
"""

from __future__ import annotations

import re
import unicodedata

TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff\U000e0000-\U000e007f]")
_BEFORE = 20


def unseen(text: str) -> tuple[str, str] | None:
    """The first such sign of ``text``, as "U+202E", and the words that it stands behind; None where there is none."""
    found = _UNSEEN.search(text)
    return (f"U+{ord(found[0]):04X}", text[max(0, found.start() - _BEFORE):found.start()]) if found else None


def spoken(text: str) -> str:
    """``text`` as it is read aloud: for looking for words in it, never for showing it."""
    if text.isascii():
        return text  # nothing to fold and nothing to leave out
    plain = unicodedata.normalize("NFKC", text)
    return "".join(sign for sign in plain if unicodedata.category(sign) != "Cf")
