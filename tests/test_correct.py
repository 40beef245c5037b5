"""The terminal's part in handing on: the notice of a correction, a file to begin with, and what check finds in a recipe's texts."""

from __future__ import annotations

import json

import pytest
from curebatch.__main__ import main
from helpers.kitchens import RECIPES

LOAF = "pistachio-pork-loaf"


def recipe_text() -> str:
    return (RECIPES / f"{LOAF}.1.toml").read_text(encoding="utf-8")


def run(capsys, *arguments):
    code = main(list(arguments))
    return code, *capsys.readouterr()


def test_correct_writes_the_notice_and_the_line_that_withdraws(capsys):
    code, out, err = run(capsys, "correct", f"{LOAF}.1", "--kind", "too_much", "--reason", "It said of the mix, and of the meat was meant", "--link", "https://e.example/recipes/x/")
    assert code == 0 and err == ""
    assert out.count("of the meat was meant") >= 4 and "https://e.example/recipes/x/" in out and "2026-11-25" in out
    last = out.strip().splitlines()[-1]
    assert json.loads(f"{{{last}}}") == {f"{LOAF}.1": "It said of the mix, and of the meat was meant"}


@pytest.mark.parametrize(("more", "named"), [
    (["--reason", "It said 20 g of curing salt"], "20 g of curing salt"),
    (["--reason", " "], "--reason"),
    (["--reason", "x", "--link", "e.example/x"], "--link e.example/x"),
])  # fmt: skip
def test_correct_says_what_it_does_not_take(capsys, more, named):
    code, out, err = run(capsys, "correct", f"{LOAF}.1", "--kind", "other", *more)
    assert code == 2 and out == "" and named in err


def test_correct_of_nothing_known(capsys):
    code, out, err = run(capsys, "correct", "nobody.1", "--kind", "other", "--reason", "x")
    assert code == 2 and out == "" and "nobody.1" in err


def test_the_starter_is_a_recipe_without_a_fault(capsys, tmp_path):
    code, out, _ = run(capsys, "starter")
    file = tmp_path / "mine.toml"
    file.write_text(out, encoding="utf-8")
    assert code == 0 and run(capsys, "check", str(file))[0] == 0
    code, out, _ = run(capsys, "card", str(file), "--json", "--set", "pack=6.25%", "--set", "fine_scale=0.1 g")
    assert code == 0 and json.loads(out)["cure"]["grams"] > 0


@pytest.mark.parametrize(("line", "named"), [
    ('title = "Loaf with 20 g of curing salt"', "line"),
    ('summary = "Take 2 tsp curing salt."', "2 tsp curing salt"),
    ('day = "25.11.2026"', "2026-11-25"),
    ("changes = [1]", "what is new"),
    ('changes = ["Now 5 g of curing salt."]', "5 g of curing salt"),
])  # fmt: skip
def test_check_points_at_the_line(capsys, tmp_path, line, named):
    key = line.split(" = ")[0]
    lines = [line if row.startswith(f"{key} = ") else row for row in recipe_text().splitlines()]
    assert line in lines
    file = tmp_path / "mine.toml"
    file.write_text("\n".join(lines), encoding="utf-8")
    code, _, err = run(capsys, "check", str(file))
    assert code == 2 and named in err and f"line {lines.index(line) + 1}" in err


def test_a_step_with_bare_grams_is_refused(capsys, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text(recipe_text() + '\n[[step]]\ntext = "Add 5 g of pink salt."\n', encoding="utf-8")
    code, _, err = run(capsys, "check", str(file))
    assert code == 2 and "5 g of pink salt" in err and "{curing_salt}" in err
