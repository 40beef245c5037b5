"""The files that ship beside our modules, wherever the package lies: in a folder, in a wheel, in the browser."""

from __future__ import annotations

from os.path import dirname


def read(place: str) -> bytes:
    """What a file of the package holds.

    place: its way from the package's own folder, as in "data/foods.csv".
    Raises OSError where there is none.
    """
    # By the importer itself: importlib.resources looks through the whole archive for each file.
    return __spec__.loader.get_data(f"{dirname(__file__)}/{place}")
