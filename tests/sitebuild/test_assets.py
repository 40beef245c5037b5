"""Names made from content, and references that follow them."""

from __future__ import annotations

import re

import pytest
from sitebuild import assets, recipe_files
from sitebuild.errors import BuildError

FILES = {
    "page.js": b'import { a } from "./a.js";\nimport("./b.js");\n',
    "a.js": b'export const a = new URL("./b.js", import.meta.url);\n',
    "b.js": b"postMessage(1);\n",
    "style.css": b'@import "print.css"; p { background: url(icons/dot.svg) }\n',
    "print.css": b'a { background: url("data:image/png;base64,AA") }\n',
    "icons/dot.svg": b"<svg/>",
}


def test_every_reference_names_a_file_that_is_there():
    made = assets.hashed(FILES)
    ways = {way for way, _ in made.values()}
    page, a, style = (made[name][1].decode() for name in ("page.js", "a.js", "style.css"))
    assert f'from "./{made["a.js"][0]}"' in page
    assert f'import("./{made["b.js"][0]}")' in page
    assert f'new URL("./{made["b.js"][0]}", import.meta.url)' in a
    assert f"url({made['icons/dot.svg'][0]})" in style
    assert f'"{made["print.css"][0]}"' in style
    assert made["icons/dot.svg"][0].startswith("icons/dot.")
    assert len(ways) == len(FILES)


def test_a_change_below_renames_all_above_and_nothing_else():
    before = assets.hashed(FILES)
    after = assets.hashed({**FILES, "b.js": b"postMessage(2);\n"})
    changed = {name for name in FILES if before[name][0] != after[name][0]}
    assert changed == {"b.js", "a.js", "page.js"}


def test_a_missing_file_is_named():
    with pytest.raises(BuildError, match=r"page\.js names './gone\.js'"):
        assets.hashed({"page.js": b'import "./gone.js";'})


def test_a_ring_is_named():
    with pytest.raises(BuildError, match="a.js -> b.js -> a.js"):
        assets.hashed({"a.js": b'import "./b.js";', "b.js": b'import "./a.js";'})


def test_a_way_to_the_root_is_left_alone():
    text = b'const ROOT = new URL("../", import.meta.url);'
    assert assets.hashed({"a.js": text})["a.js"][1] == text


def test_shelf_keys_and_faults(tmp_path):
    with pytest.raises(BuildError, match="no recipe file"):
        recipe_files.read_shelf(tmp_path)
    (tmp_path / "one.toml").write_text('id = "loaf"\nrevision = 1\n')
    assert b'"loaf.1"' in recipe_files.read_shelf(tmp_path)
    (tmp_path / "two.toml").write_text('id = "loaf"\nrevision = 1\n')
    with pytest.raises(BuildError, match=r"two\.toml: loaf\.1 is on the shelf already"):
        recipe_files.read_shelf(tmp_path)
    (tmp_path / "two.toml").write_text('id = "loaf"\n')
    with pytest.raises(BuildError, match="needs id and revision"):
        recipe_files.read_shelf(tmp_path)


def test_keys_for_the_templates():
    assert assets.keyed({"style.css": "a", "icons/icon.svg": "b"}) == {"style": "a", "icon": "b"}
    with pytest.raises(BuildError, match="'icon'"):
        assets.keyed({"icon.png": "a", "icons/icon.svg": "b"})


def test_all_that_the_worker_is_made_of_is_asked_for_at_once():
    def named(name: str) -> set[str]:
        text = (assets.SITE / name).read_text(encoding="utf-8")
        return set(re.findall(r'^(?:import|export)\b[^;"]*"\./([\w-]+\.js)"', text, re.MULTILINE))

    parts, wanted = set(), named("worker.js")
    while wanted:
        part = wanted.pop()
        parts.add(part)
        if part != "runtime.js":  # the build writes it, and it imports nothing
            wanted |= named(part) - parts
    asked = set(re.findall(r'new URL\("\./([\w-]+\.js)"', (assets.SITE / "begin.js").read_text(encoding="utf-8")))
    assert asked == {"worker.js", *parts} and len(parts) > 2
