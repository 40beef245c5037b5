"""Curebatch: from a recipe's targets and a kitchen's own pack, scale and rules to a batch card.

JSON text in, JSON text out, for the page's worker, the build and any other host:

``start(shelf)`` once, then ``answer(request)`` for each change of the form;
``pages()`` and ``draw(request)`` make the static site.
"""

__version__ = "0.1.0"


def _entry():
    from . import beforehand

    beforehand.begin()
    from . import entry

    return entry


def start(shelf_json: str) -> None:
    """Take over the recipes at hand. shelf_json: {"recipes": {"id.revision": TOML text}}."""
    _entry().start(shelf_json)


def answer(request_json: str) -> str:
    """Answer one request {id, build, input, want}; see DEVELOPERS.md for its parts."""
    return _entry().answer(request_json)


def draw(request_json: str) -> str:
    """Draw one static page {page, recipe, root, assets, build, canonical}."""
    return _entry().draw(request_json)


def sweep_later() -> None:
    """Leave it to ``sweep`` to collect what refers to itself.

    Python would look through all that a start has made in the midst of an answer, which takes as long
    as seven answers. One leaves nothing that refers to itself, so it can wait until nobody does.
    """
    import gc

    gc.disable()


def sweep() -> None:
    """Collect what refers to itself. What is left will not be looked through again."""
    import gc

    gc.collect()
    gc.freeze()


def prove() -> None:
    """Hold what was worked out beforehand against the library it came from; it takes a while. Raises ArithmeticError."""
    _entry()
    from .intake import units

    units.prove()


def pages() -> str:
    """The pages that the site consists of: [{path, request}]."""
    return _entry().pages()
