"""The one kind of error of the batch modules: a code and the values that its words need."""

from __future__ import annotations


class Refused(ValueError):
    """Something that cannot be worked out or must not be: ``code`` names why, ``values`` fill its words.

    The words of a code stand in the catalogue under ``batch.refused.CODE``.
    """

    def __init__(self, code: str, **values: object):
        super().__init__(code)
        self.code = code
        self.values = values
