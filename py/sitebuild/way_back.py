"""The way back to a module that was left out of the shipped library.

Ships inside the standard library as `_way_back` and is put last on sys.meta_path when Python
starts. Where an import of a known module misses, the archive with all the rest is fetched, once,
and the module comes from there. It keeps no JavaScript object, so a memory snapshot may hold it.
"""

import sys
from importlib.machinery import PathFinder

# Where the archive lies once it is fetched.
PLACE = "/lib/python_rest.zip"


class WayBack:
    """A finder on sys.meta_path for the modules of one archive, fetched when first needed.

    names: the dotted names of all modules in the archive; no other name makes it fetch.
    digest: the archive's SHA-256 as hex digits; what has another is not used.
    fetch: gives the archive as bytes, empty where it is out of reach.
    """

    def __init__(self, names, digest, fetch, place=PLACE):
        self.names, self.digest, self.fetch, self.place = names, digest, fetch, place
        self.fetched = False

    def find_spec(self, name, path=None, target=None):
        """The spec of a module in the archive; None for any other name.

        ImportError where the archive is out of reach, as for any module that is missing.
        """
        if name not in self.names:
            return None
        if not self._at_hand(name):
            raise ImportError(f"No module named {name!r} at hand, and the rest is out of reach", name=name)
        parent = name.rpartition(".")[0].replace(".", "/")
        return PathFinder.find_spec(name, [f"{self.place}/{parent}" if parent else self.place])

    def _at_hand(self, name):
        if not self.fetched:
            from hashlib import sha256

            data = self.fetch()
            if data and sha256(data).hexdigest() == self.digest:
                with open(self.place, "wb") as file:
                    file.write(data)
                self.fetched = True
                _tell(name)
        return self.fetched


def install():
    from _way_back_names import DIGEST, NAMES

    sys.meta_path.append(WayBack(NAMES, DIGEST, _fetch))


def _fetch():
    # The worker, or the program under Node, says how: a blocking request, or a file.
    try:
        from js import pythonRest
    except ImportError:
        return b""
    data = pythonRest()
    return data.to_bytes() if data else b""


def _tell(name):
    # To be seen by whoever looks after the site: the list of what ships lacks a module.
    from js import console

    console.info(f"{name} is not in the shipped library: python_rest was fetched for it.")
